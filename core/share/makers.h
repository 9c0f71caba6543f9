/* Makers: what this shop knows of keys, as it lies in makers.json; each an object with
 *
 *   name, key
 *   trusted     when its fingerprint was typed
 *   distrusted  true: what a handover would pass on to it is not wanted
 *   to          the key that it has handed over to
 *   revoked     {reason, words, by}; by is a key
 *   seen        [{id, revision, version, digest}], the highest revision of each id */
#ifndef EVENBORE_MAKERS_H
#define EVENBORE_MAKERS_H

#include "evenbore/file.h"
#include "evenbore/json.h"
#include "evenbore/shelf.h"

struct eb_shelf {
  const eb_host *host;
  char data[EB_PATH_SIZE];
  const char *const *builtin; /* borrowed */
  size_t builtin_count;
  bool changes;
  int held;
  eb_json *makers; /* the file's content */
};

eb_status makers_load(eb_shelf *shelf, eb_error *error);

/* Writes the changed content and takes it over; where that fails all is as it was. Takes over `changed` in either case;
 * NULL is EB_OUT_OF_MEMORY. */
eb_status makers_save(eb_shelf *shelf, eb_json *changed, eb_error *error);

/* The entry of a key, one that may be changed, and one that is made where there is none (NULL: out of memory). */
const eb_json *makers_find(const eb_json *makers, const char *key);
eb_json *makers_entry(eb_json *makers, const char *key);
eb_json *makers_meet(eb_json *makers, const eb_maker *maker);

bool makers_revoked(const eb_json *entry);
/* Whether two keys are of one row of handovers. */
bool makers_related(const eb_json *makers, const char *key, const char *other);
/* Whether `later` comes behind `key` in its row. */
bool makers_succeeds(const eb_json *makers, const char *key, const char *later);
const eb_json *makers_before(const eb_json *makers, const char *key); /* who has handed over to it; NULL: nobody */

/* What was seen of an id with the highest revision, by any key of the row. NULL: nothing. */
const eb_json *makers_seen(const eb_json *makers, const char *key, const char *id);
/* Keeps it, where it is not lower. False: out of memory. */
bool makers_see(eb_json *makers, const eb_bundle *bundle);

#endif
