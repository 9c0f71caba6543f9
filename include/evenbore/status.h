/* Status and error: how every function of the library says what went wrong.
 *
 * What the world does wrong (a file, a typed value, a procedure) comes back as
 * an eb_status, with an eb_error filled by the function that knows the details.
 * What a calling program does wrong (a null pointer where none is allowed, an
 * index outside an array) is an assert.  The library never prints, never exits
 * and never aborts; when memory runs out it says EB_OUT_OF_MEMORY.
 *
 * On any status but EB_OK the outputs of a function are as they were before. */
#ifndef EVENBORE_STATUS_H
#define EVENBORE_STATUS_H

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_status {
  EB_OK = 0,
  EB_OUT_OF_MEMORY,
  EB_BAD_TEXT,     /* not UTF-8, forbidden characters, or too long */
  EB_BAD_VALUE,    /* not a number, not one of the allowed answers, not JSON */
  EB_OUT_OF_RANGE, /* a finite number outside its limits */
  EB_BAD_UNIT,     /* an unknown unit, or one of another quantity */
  EB_BAD_LAYOUT,   /* rows, bores or adjusters that contradict one another */
  EB_NOT_FOUND,    /* a file, a name, a bore that is not there */
  EB_EXISTS,       /* a file that must not be there is */
  EB_HELD,         /* another process holds the session */
  EB_IO,           /* the system refused a file operation */
  EB_NO_SPACE,     /* disk or quota full */
  EB_READ_ONLY,    /* no permission to write */
  EB_DAMAGED,      /* a journal whose records do not agree with their digests */
  EB_TOO_NEW,      /* written by, or for, a later version */
  EB_NOT_JOURNAL,  /* the file is not a session's journal */
  EB_MISMATCH,     /* a replay asked for something else than was recorded */
  EB_REFUSED,      /* an interlock forbids it: engine state, parts still off */
  EB_BUDGET,       /* a procedure used up its instructions, memory, prompts or text */
  EB_SCRIPT,       /* a procedure has an error */
  EB_ENDED,        /* the session is over; nothing more can be asked of it */
  EB_UNSOLVABLE,   /* no set of moves reaches the wanted bound; singular data */
  /* Why something that came from another shop is not taken (bundle.h, shelf.h); each has an exit status of its own. */
  EB_NOT_BUNDLE,    /* the file is no bundle */
  EB_BAD_FORM,      /* a bundle or a statement that is not written as this program writes it */
  EB_BAD_PAYLOAD,   /* a source is not the one that the manifest names */
  EB_BAD_MANIFEST,  /* the manifest is not the one that was sealed */
  EB_BAD_PURPOSE,   /* signed for something else */
  EB_BAD_SIGNER,    /* sealed by another key than its maker's */
  EB_BAD_SIGNATURE, /* the signature does not hold */
  EB_UNTRUSTED,     /* nobody here trusts the maker's key */
  EB_ROLLBACK,      /* its revision is below the highest that was seen here */
  EB_REVOKED,       /* its maker revoked the key */
  EB_SHADOWS,       /* it has the id of a built-in procedure, or the name of a built-in file */
  EB_LOOKALIKE,     /* its id looks like another one that is there */
  EB_OTHER_MAKER,   /* another maker's procedure of that id is there */
  EB_VERSION_TAKEN, /* another content of the same version or revision was seen */
  EB_HANDED_OVER,   /* its key has handed over to another one */
  EB_STRANGER,      /* the signer of a statement has no say in the matter */
  EB_FINGERPRINT,   /* what was typed is not the key's fingerprint */
  EB_KEY_OPEN,      /* a private key's file that others than its owner can read or write */
  EB_PASSPHRASE     /* a private key's passphrase is missing or another one */
} eb_status;

/* Where there is no place to name, `place` is the empty string.
 * Both texts are UTF-8, cut at a character's border if they are too long; what cannot be shown
 * (text.h) is written out, as \u{1B} or \xFF. */
typedef struct eb_error {
  eb_status status;
  char place[160];   /* a file with its line, a record's number, a prompt's key */
  char message[640]; /* what was met, and what would be right; no full stop at its end, no newline */
} eb_error;

/* The word for a status as it stands in machine-readable output ("out-of-memory"). Static. */
const char *eb_status_word(eb_status status);

/* Fills *error and returns `status`, so that a function can end with
 * `return eb_fail(error, EB_BAD_VALUE, "", "...", ...)`.  `error` may be NULL. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
eb_status
eb_fail(eb_error *error, eb_status status, const char *place, const char *format, ...);

/* Empties *error: status EB_OK, both texts "". */
void eb_error_clear(eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
