/* Shop file: one small JSON file that a person may write by hand, read whole and replaced whole. */
#ifndef EVENBORE_SHOP_FILE_H
#define EVENBORE_SHOP_FILE_H

#include "evenbore/host.h"
#include "evenbore/json.h"
#include "evenbore/status.h"

#include <stdbool.h>

typedef struct eb_shop_file {
  const eb_host *host;
  char *text; /* as it stands on the disk */
  size_t size;
  eb_json *json; /* of the text */
} eb_shop_file;

/* EB_NOT_FOUND, EB_IO, EB_OUT_OF_RANGE (larger than EB_SHOP_FILE_MAX), and what eb_json_parse_lines says.  Cleared by
 * the caller after EB_OK alone. */
eb_status eb_shop_file_read(const eb_host *host, const char *path, eb_shop_file *file, eb_error *error);
void eb_shop_file_clear(eb_shop_file *file); /* one that is all zero is allowed */

/* Writes the value to PATH.new, syncs it and renames it over `path`: who reads meanwhile, or after a power cut, has
 * the old file or the new one.  The caller holds the folder, which is made where it is missing.  EB_READ_ONLY,
 * EB_NO_SPACE, EB_IO, EB_EXISTS where something else than a file lies at `path`. */
eb_status eb_shop_file_write(const eb_host *host, const char *path, const eb_json *value, eb_error *error);

/* Keeps every other process of this program from changing files in the folder of `path`, until it is given back.
 * EB_HELD where another one is at it; EB_IO. */
eb_status eb_shop_file_hold(const eb_host *host, const char *path, int *held, eb_error *error);
void eb_shop_file_release(const eb_host *host, int held);

/* The names of the files in a folder, without .json, in order; a folder that is not there has none. */
enum { EB_SHOP_NAME_SIZE = 128 };
typedef struct eb_shop_names {
  const eb_host *host;
  char (*names)[EB_SHOP_NAME_SIZE];
  size_t count, room;
  bool failed; /* memory ran out while it was made */
} eb_shop_names;
eb_status eb_shop_names_list(const eb_host *host, const char *folder, eb_shop_names *names, eb_error *error);
void eb_shop_names_clear(eb_shop_names *names);

#endif
