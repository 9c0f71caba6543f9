/* What keys, statements and the list of makers have in common as JSON: a maker, {"name", "key"}. */
#ifndef EVENBORE_MAKER_JSON_H
#define EVENBORE_MAKER_JSON_H

#include "evenbore/json.h"
#include "evenbore/maker.h"

/* False where the object has no name and key that are ones. */
bool maker_json_read(const eb_json *object, eb_maker *maker);

/* {"name", "key"}; NULL when memory runs out; owned by the caller. */
eb_json *maker_json_make(const eb_maker *maker);

/* A text that can be shown, of less than `size` bytes, may be empty; false where it is none. */
bool maker_text_fits(const char *text, size_t size);

#endif
