/* Shelf: the procedures that a shop got from others, and whom it trusts.
 *
 * All of it lies below one folder, the shop's data:
 *
 *   DATA/shelf/DIGEST.evenbore   the bundles, as they came; a name is the digest of what is in the file
 *   DATA/makers.json             the makers that were met: trust, handovers, revocations, and the highest revision seen
 *
 * Each file is replaced whole (file.h): a crash or a full disk at any moment leaves the old or the new.  Bundles are
 * read and verified anew each time; nothing on the disk is taken for what its name says.
 *
 * An id on the shelf has one maker: a bundle with the id of a built-in procedure, with one that looks like another, or
 * with that of another maker's is refused, so that no id ever means two things.  Versions of one maker stand side by
 * side.
 *
 * Trust is in a key.  Whoever wants to trust one types its fingerprint; nothing else does it.  Of a maker's several
 * keys:
 *
 *   - A handover passes the trust of the old key on to the new one, for as long as the old one has it.  From then on no
 *     new bundle of the old key is taken; those that are there stay.
 *   - A revoked key signs nothing that is tuned with here, before or after.
 *   - A key that revoked itself no longer passes trust on, whichever came first: who stole it could have signed the
 *     handover too. Its successor is trusted again once its own fingerprint is typed.
 *   - A key that its successor revoked passes on what it had: the maker says so with the key that is trusted by now.
 *   - A handover by a revoked key is refused, one to a revoked key, and a second one of a key to another.
 *
 * Statuses that mean a refusal have a word (status.h) and, on the command line, an exit status of their own. */
#ifndef EVENBORE_SHELF_H
#define EVENBORE_SHELF_H

#include "evenbore/bundle.h"
#include "evenbore/file.h"
#include "evenbore/maker.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_SHELF_MAX = 200,        /* bundles on a shelf */
  EB_SHELF_MAKERS_MAX = 200, /* makers that are known */
  EB_SHELF_FOUND_MAX = 1000, /* names in a folder that are looked at */
  EB_SHELF_ID_SIZE = 64,     /* of a procedure's id, as layout.h has it */
  EB_SHELF_SPEC_SIZE = 128   /* "ID@VERSION" */
};

typedef struct eb_shelf eb_shelf;

/* Reads what is known of makers.  `data` is the data folder, which need not be there. `builtin` are the ids of the
 * built-in procedures, borrowed for as long as the shelf is open.  With `change` the folder is made and held until
 * eb_shelf_close; without it the functions below that change something are a caller's error.
 * EB_HELD, EB_BAD_FORM (makers.json is not one), file.h's statuses. `host` must outlive it. */
eb_status eb_shelf_open(const eb_host *host, const char *data, const char *const *builtin, size_t builtin_count,
                        bool change, eb_shelf **shelf, eb_error *error);
void eb_shelf_close(eb_shelf *shelf); /* NULL is allowed */

typedef enum eb_standing {
  EB_UNKNOWN_MAKER,   /* never met here */
  EB_UNTRUSTED_MAKER, /* met, and nobody here typed its fingerprint */
  EB_TRUSTED_MAKER,   /* by its fingerprint, or by a handover from one that is */
  EB_REVOKED_MAKER
} eb_standing;
const char *eb_standing_word(eb_standing standing); /* "trusted"; static */

/* A maker as this shop knows it. */
typedef struct eb_known_maker {
  eb_maker maker;
  eb_standing standing;
  bool by_handover;                      /* trusted by that alone */
  char trusted_since[EB_TIME_TEXT_SIZE]; /* when the fingerprint was typed; empty: it was not */
  bool handed_over;
  eb_maker successor; /* where it was */
  eb_revoked reason;  /* where it is revoked */
  char words[EB_STATEMENT_WORDS_SIZE];
} eb_known_maker;

size_t eb_shelf_maker_count(const eb_shelf *shelf);
void eb_shelf_maker(const eb_shelf *shelf, size_t index, eb_known_maker *known); /* from 0, in the order of meeting */

/* What is known of a key; false where nothing is: *known is then of an unknown maker. */
bool eb_shelf_know(const eb_shelf *shelf, const eb_public_key *key, eb_known_maker *known);

/* The maker that a person means: the name, or the beginning of a fingerprint, of one group at least.
 * EB_NOT_FOUND with the nearest; EB_BAD_VALUE where several are called so. */
eb_status eb_shelf_find_maker(const eb_shelf *shelf, const char *typed, eb_known_maker *known, eb_error *error);

/* Trusts a known key whose fingerprint was typed: EB_FINGERPRINT where it was not, EB_REVOKED, EB_NOT_FOUND. */
eb_status eb_shelf_trust(eb_shelf *shelf, const eb_public_key *key, const char *typed, eb_error *error);
/* Takes trust back, also what came by a handover. EB_NOT_FOUND. */
eb_status eb_shelf_distrust(eb_shelf *shelf, const eb_public_key *key, eb_error *error);

/* Whether a statement that was read would be taken in: EB_OK; EB_STRANGER: the signer of a revocation has no say about
 * that key here; EB_REVOKED: a handover from or to a revoked key; EB_HANDED_OVER: the old key has handed over to
 * another one, or the new one stands in a row of its own.  *known is set where it says nothing new. */
eb_status eb_shelf_check_statement(const eb_shelf *shelf, const eb_statement *statement, bool *known, eb_error *error);
eb_status eb_shelf_take_statement(eb_shelf *shelf, const eb_statement *statement, bool *known, eb_error *error);

/* Whether a bundle that was read would be put on the shelf:
 *
 *   EB_SHADOWS        it has the id of a built-in procedure
 *   EB_LOOKALIKE      its id looks like another one, built in or on the shelf
 *   EB_BAD_FORM       its maker has a name that is none (maker.h)
 *   EB_REVOKED        its key is revoked
 *   EB_HANDED_OVER    its key has handed over to another one
 *   EB_OTHER_MAKER    the id is another maker's here
 *   EB_ROLLBACK       its revision is below the highest that was seen of this maker and id, removed ones too
 *   EB_VERSION_TAKEN  another content of the same version or revision was seen here
 *   EB_OUT_OF_RANGE   the shelf is full
 *
 * and what reading the shelf fails with.  *there is set, with EB_OK, where this very bundle stands there already. */
eb_status eb_shelf_check(const eb_shelf *shelf, const eb_bundle *bundle, bool *there, eb_error *error);

/* Puts it there: `text` is what `bundle` was read from.  The maker is known from then on, and not trusted by that. */
eb_status eb_shelf_add(eb_shelf *shelf, const eb_bundle *bundle, const char *text, size_t size, bool *there,
                       eb_error *error);

/* What stands on the shelf: `each` gets every bundle, borrowed for the call, by id and then by revision, until it
 * returns false.  A file that cannot be read comes with bundle NULL and why.  EB_IO, EB_OUT_OF_MEMORY. */
eb_status eb_shelf_list(const eb_shelf *shelf,
                        bool (*each)(void *context, const char *path, const eb_bundle *bundle, const eb_error *why),
                        void *context, eb_error *error);

/* The bundle that "ID" (its highest revision) or "ID@VERSION" means; cleared by the caller. EB_NOT_FOUND: none, with
 * what there is of that id.  `path`, where not NULL, has EB_PATH_SIZE bytes and gets its file's. */
eb_status eb_shelf_find(const eb_shelf *shelf, const char *spec, eb_bundle *bundle, char *path, eb_error *error);

/* Takes one away by "ID@VERSION", or by "ID" where there is one version of it (EB_BAD_VALUE: several).  The highest
 * revision seen stays known.  *spec gets what was removed. */
eb_status eb_shelf_remove(eb_shelf *shelf, const char *typed, char spec[EB_SHELF_SPEC_SIZE], eb_error *error);

/* What one file of a folder is: why it is refused, or what it holds. */
typedef struct eb_found {
  char name[256]; /* as it stands in the folder; not fit to be shown as it is */
  eb_error why;   /* status EB_OK: usable */
  bool is_bundle, is_statement;
  bool there; /* on the shelf already, or says nothing new */
  eb_statement_kind kind;
  eb_maker maker;
  eb_standing standing;
  char id[EB_SHELF_ID_SIZE], version[EB_BUNDLE_VERSION_MAX + 1], title[EB_BUNDLE_TITLE_MAX + 1];
  int revision;
} eb_found;

typedef struct eb_found_list {
  const eb_host *host;
  eb_found *found; /* by name */
  size_t count;
  size_t others; /* names that do not end in .evenbore: nobody's concern here */
  bool cut;      /* there were more than EB_SHELF_FOUND_MAX */
} eb_found_list;

/* Looks a folder through that anybody may have written, and changes nothing.  Each file is looked at by itself,
 * whatever the others are: a name that hides something, a link, a pipe, a device, a file that is too large or does not
 * read well is refused with its reason, as is what eb_shelf_check and eb_shelf_check_statement refuse.  Two bundles
 * there whose ids look alike are both refused.  EB_NOT_FOUND, EB_BAD_VALUE (no folder), EB_IO, EB_OUT_OF_MEMORY. */
eb_status eb_shelf_scan(const eb_shelf *shelf, const char *folder, eb_found_list *list, eb_error *error);
void eb_found_list_clear(eb_found_list *list);

/* Whether two different ids could be taken for one another: "v8-link" and "v8-1ink". */
bool eb_ids_look_alike(const char *id, const char *other);

#ifdef __cplusplus
}
#endif
#endif
