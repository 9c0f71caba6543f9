/* Shop's shelf: the shelf of this data folder, which knows the built-in procedures. */
#ifndef EVENBORE_SHOP_SHELF_H
#define EVENBORE_SHOP_SHELF_H

#include "run.h"

#include "evenbore/shelf.h"

enum { EB_BUILTINS_MAX = 256 };

typedef struct eb_shop_shelf {
  eb_shelf *shelf;
  char ids[EB_BUILTINS_MAX][EB_SHELF_ID_SIZE];
  const char *words[EB_BUILTINS_MAX];
  size_t count;
} eb_shop_shelf;

/* As eb_shelf_open; `data` is --data's folder or NULL. Does not move while it is open. */
eb_status eb_shop_shelf_open(const eb_host *host, const char *data, bool change, eb_shop_shelf *shelf, eb_error *error);
void eb_shop_shelf_close(eb_shop_shelf *shelf); /* one that is all zero is allowed */

/* A bundle's or a statement's file that a person names, read whole; given back by the host's allocator.
 * EB_NOT_FOUND, EB_BAD_VALUE (no file), EB_OUT_OF_RANGE, EB_IO, EB_OUT_OF_MEMORY. */
eb_status eb_shop_shelf_read(const eb_run *run, const char *path, char **text, size_t *size, eb_error *error);

#endif
