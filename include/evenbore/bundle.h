/* Bundle: a procedure packed for another shop: one text file, whose name ends in ".evenbore".
 *
 * The file is JSON in the spelling of eb_json_write_mail (json.h): ASCII, short lines, one spelling for each content.
 * What a transport does to line ends is taken (CR LF, line ends behind the end); every other change, a space included,
 * is refused.  The members stand in this order, all of them but `rehearsal` always there:
 *
 *   {
 *   "format": "evenbore-bundle",
 *   "version": 1,
 *   "manifest": {
 *     "id", "version", "api", "title",   as the procedure declares them
 *     "revision",                        counts up; a shop takes none below the highest that it has seen
 *     "maker": {"name", "key"},          who packed it; the public key in base64 (signing.h)
 *     "licence",
 *     "instruments": [texts],            what is needed for the job
 *     "hazards": [texts],                that the procedure adds to the program's own cautions
 *     "layouts": [layouts],              of the engines that it is for: {"rows", "row_titles", "adjusters"} (layout.h)
 *     "rehearsal": {...},                eb_bundle_figures: as the maker claims them
 *     "files": [{"name", "size", "digest"}]  of the sources, in their order: bytes, and SHA-256 in hexadecimal
 *   },
 *   "sources": [{"name", "text"}],       the procedure, ID.lua, then its own library files, lib/NAME.lua
 *   "seal": {
 *     "purpose": "bundle",
 *     "key",                             the maker's, once more
 *     "digest",                          SHA-256 of the bytes that are signed
 *     "signature"                        Ed25519, base64
 *   }
 *   }
 *
 * Signed is the manifest, as eb_json_write_mail writes it, with its newline, for the purpose "bundle" (signing.h):
 * "evenbore bundle 1\n{\n\"id\":...}\n".  With the digests in it all is signed but the words of the seal, which follow
 * from it.  `evenbore inspect FILE --take-apart FOLDER` writes these bytes out for other programs to check.
 *
 * A bundle that reads well is whole, and from who has the key.  Whether to trust that key is another matter (maker.h).
 * The same content and the same key give the same bytes. */
#ifndef EVENBORE_BUNDLE_H
#define EVENBORE_BUNDLE_H

#include "evenbore/digest.h"
#include "evenbore/layout.h"
#include "evenbore/procedure.h"
#include "evenbore/signing.h"

#ifdef __cplusplus
extern "C" {
#endif

#define EB_BUNDLE_ENDING ".evenbore"

enum {
  EB_BUNDLE_MAX = 1024 * 1024, /* bytes of the file */
  EB_BUNDLE_FILES_MAX = 64,    /* sources, the procedure itself among them */
  EB_BUNDLE_LINES_MAX = 4096,  /* pieces of one source, as eb_json_write_mail cuts it */
  EB_BUNDLE_NAME_SIZE = 64,    /* of a source's name, with the NUL */
  EB_BUNDLE_TEXTS_MAX = 32,    /* instruments, and hazards */
  EB_BUNDLE_LAYOUTS_MAX = 8,
  EB_BUNDLE_REVISION_MAX = 1000000,
  /* Bytes of texts; none holds what cannot be shown (text.h), a newline included. */
  EB_BUNDLE_TITLE_MAX = 120,  /* and of the licence */
  EB_BUNDLE_MAKER_MAX = 60,   /* the maker's name */
  EB_BUNDLE_VERSION_MAX = 31, /* the procedure's version */
  EB_BUNDLE_TEXT_MAX = 200    /* an instrument, a hazard */
};

/* What rehearsals came to, as evenbore rehearse counts it.  Engines are counted; stops, readings and minutes are
 * medians over all of them. In a bundle: an object with these keys, in this order. */
typedef struct eb_bundle_figures {
  const char *program;              /* that rehearsed: "evenbore 0.1.0" */
  int engines, seed;                /* how many, and the first one's number */
  const char *faults;               /* "none", "all" or one fault's name, as for evenbore rehearse */
  double tolerance, risk;           /* relative, above 0 */
  int even, claimed, stuck, failed; /* how they ended; together `engines` */
  int claims, wrong;                /* claims made, and those of them that do not hold */
  int stops, readings, minutes;
} eb_bundle_figures;

/* All texts are borrowed. */
typedef struct eb_manifest {
  const char *id, *version, *title;
  int api, revision; /* from 1 */
  const char *maker; /* its name */
  eb_public_key key;
  const char *licence;
  const char *instruments[EB_BUNDLE_TEXTS_MAX];
  int instrument_count;
  const char *hazards[EB_BUNDLE_TEXTS_MAX];
  int hazard_count;
  const eb_layout *layouts;
  int layout_count;
  bool rehearsed;
  eb_bundle_figures figures; /* where it is rehearsed */
} eb_manifest;

/* A bundle that was read.  All in it is its own, and borrowed from it until it is cleared. */
typedef struct eb_bundle {
  const eb_host *host;
  eb_manifest manifest;
  eb_source source[EB_BUNDLE_FILES_MAX]; /* the procedure, then its library files by the names that a runner wants */
  size_t source_count;
  char digest[EB_DIGEST_SIZE]; /* SHA-256 of the whole text with newlines as they were made: names this very bundle */
  const char *signature;       /* base64 */
  eb_json *tree;
  eb_layout *layouts;
  char (*names)[EB_BUNDLE_NAME_SIZE];
} eb_bundle;

/* Reads and verifies; nothing is run.  `name` is the file's, for messages: error->place begins with it.  In this order:
 *
 *   EB_OUT_OF_RANGE   larger than EB_BUNDLE_MAX
 *   EB_NOT_BUNDLE     the text does not begin as a bundle does
 *   EB_TOO_NEW        a later version of the format
 *   EB_BAD_FORM       cut off, another spelling, something behind the end, too deep
 *   EB_BAD_FORM       a key twice, missing, unknown or out of order, a value of the wrong type
 *   EB_BAD_PURPOSE    sealed, or signed, for something else
 *   EB_BAD_MANIFEST   not the manifest that was sealed
 *   EB_BAD_SIGNER     sealed by another key than the maker's
 *   EB_BAD_SIGNATURE  the signature does not hold
 *   EB_BAD_PAYLOAD    a source is missing, added, or not the one that the manifest names
 *   EB_BAD_FORM       signed, but beyond the limits above, or names that are none
 *
 * and EB_OUT_OF_MEMORY.  *bundle is cleared by the caller after EB_OK alone. */
eb_status eb_bundle_read(const eb_host *host, const char *name, const char *text, size_t size, eb_bundle *bundle,
                         eb_error *error);
void eb_bundle_clear(eb_bundle *bundle); /* one that is all zero is allowed */

/* Adds the bundle's text.  sources[0] is the procedure, the others are its own library files ("./lib/NAME.lua") in any
 * order; the manifest's maker key is the secret key's, whatever stands in it.  What was made reads back, or nothing is
 * made: EB_BAD_TEXT, EB_OUT_OF_RANGE (a limit, which the message names), EB_OUT_OF_MEMORY. */
eb_status eb_bundle_make(const eb_host *host, const eb_manifest *manifest, const eb_source *sources, size_t count,
                         const eb_secret_key *key, eb_text *text, eb_error *error);

/* Adds the bytes that its signature is over. */
void eb_bundle_signed_bytes(const eb_bundle *bundle, eb_text *text);

#ifdef __cplusplus
}
#endif
#endif
