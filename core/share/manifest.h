/* What reading and making a bundle share. */
#ifndef EVENBORE_SHARE_MANIFEST_H
#define EVENBORE_SHARE_MANIFEST_H

#include "evenbore/bundle.h"
#include "evenbore/json.h"

enum { EB_BUNDLE_VERSION = 1 };

extern const char eb_bundle_format[]; /* "evenbore-bundle" */

/* The manifest's members, checked one by one against what bundle.h promises; `layouts` has room for
 * EB_BUNDLE_LAYOUTS_MAX.  Texts are borrowed from `json`. EB_BAD_FORM; its place is "". */
eb_status eb_manifest_read(const eb_json *json, eb_manifest *manifest, eb_layout *layouts, eb_error *error);

/* Owned by the caller; NULL when memory runs out. */
eb_json *eb_manifest_json(const eb_manifest *manifest, const eb_source *sources, size_t count);

/* Whether an object has exactly these keys, in this order.  EB_BAD_FORM; its place is "". */
eb_status eb_share_keys(const eb_json *object, const char *what, const char *const *keys, size_t count,
                        eb_error *error);

/* Whether a name is "NAME.lua", behind a "lib/" where it is a library file's: NAME being letters, digits, hyphens and
 * underscores of ASCII. */
bool eb_bundle_is_name(const char *name, bool library);

#endif
