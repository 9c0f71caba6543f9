/* Maker: who signs.  A pair of keys with a name, the fingerprint that people read to one another, and what a maker can
 * state about its keys.
 *
 * A fingerprint is what a person compares, heard over a telephone or read from paper.  It is the SHA-256 of the line
 * "evenbore fingerprint 1\n" and the 32 bytes of the public key, as one big-endian number, modulo 10^32 (106 bits), in
 * eight groups of four digits with a fifth that checks them: "30281 55604 ...".  The check digit is that of H. M.
 * Damm's quasigroup of order 10 ("Total anti-symmetrische Quasigruppen", thesis, Marburg 2004; table from memory, its
 * property is proved by a test) over the group's number, 1 to 8, and its four digits: one wrong digit, two neighbours
 * swapped and two groups swapped are noticed at the group.  Digits alone: they sound unlike one another in every
 * language, and a keypad has them.
 *
 * What a maker states travels as bundles do: a text in the spelling of eb_json_write_mail, in a file whose name ends in
 * ".evenbore".  Signed are the bytes of `statement` in that spelling, with their newline, for the purpose that the
 * format names:
 *
 *   {"format": "evenbore-card", "version": 1, "statement": {...}, "signatures": [...]}
 *
 * with "evenbore-handover" or "evenbore-revocation" in the other two.  A MAKER is {"name", "key"}.
 *
 *   card        {"maker": MAKER}, signed by it
 *   handover    {"from": MAKER, "to": MAKER}, signed by both in this order: the old key hands over, the new one accepts
 *   revocation  {"maker": MAKER, "by": MAKER, "reason", "words"}, signed by `by`
 *
 * `by` is the maker itself, or the one that its key has handed over to.  The reason is "lost", "stolen" or "retired".
 */
#ifndef EVENBORE_MAKER_H
#define EVENBORE_MAKER_H

#include "evenbore/host.h"
#include "evenbore/signing.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_MAKER_NAME_SIZE = 61,  /* bytes of a maker's name with its NUL; nothing that cannot be shown (text.h) */
  EB_FINGERPRINT_SIZE = 48, /* eight groups of five digits, spaces between them, NUL */
  EB_STATEMENT_MAX = 4096,  /* bytes of a statement's file */
  EB_STATEMENT_WORDS_SIZE = 201,
  EB_KEY_FILE_MAX = 4096,
  EB_PASSPHRASE_MAX = 1024, /* bytes */
  /* A passphrase is stretched by Argon2id (libsodium's crypto_pwhash) with these limits, which the file names; a file
   * that wants more than the upper ones is refused before any work is done. */
  EB_PASSPHRASE_PASSES = 3,
  EB_PASSPHRASE_MEMORY_KIB = 256 * 1024,
  EB_PASSPHRASE_PASSES_MAX = 10,
  EB_PASSPHRASE_MEMORY_KIB_MAX = 1024 * 1024
};

/* A public key, and what its owner calls himself. */
typedef struct eb_maker {
  char name[EB_MAKER_NAME_SIZE];
  eb_public_key key;
} eb_maker;

/* EB_BAD_TEXT: empty, too long, or it holds what cannot be shown, or a space at an end. */
eb_status eb_maker_name_check(const char *name, eb_error *error);

void eb_fingerprint(const eb_public_key *key, char text[EB_FINGERPRINT_SIZE]);

/* Whether what a person typed is the key's fingerprint: all its digits, spaces, points and hyphens anywhere.
 * EB_FINGERPRINT says what is the matter, the first group whose check digit is wrong by its number, and never what
 * would be right: that has to come from the maker. */
eb_status eb_fingerprint_check(const eb_public_key *key, const char *typed, eb_error *error);

/* A key pair as it lies in its owner's file:
 *
 *   {"format": "evenbore-key", "version": 1, "name", "key", "seed": base64}, or in place of the seed
 *   "sealed": {"salt", "nonce", "passes", "memory_kib", "box"}: libsodium's secretbox of the seed, with a key that
 *   crypto_pwhash (Argon2id 1.3) makes of the passphrase.
 *
 * Forget it after use. */
typedef struct eb_maker_key {
  char name[EB_MAKER_NAME_SIZE];
  eb_secret_key secret;
} eb_maker_key;
void eb_maker_key_forget(eb_maker_key *key);

/* Adds the file's text; passphrase NULL or empty: unsealed.  EB_OUT_OF_MEMORY: the text, or 256 MiB to stretch the
 * passphrase, cannot be had. */
eb_status eb_maker_key_write(const eb_maker_key *key, const char *passphrase, size_t passphrase_size, eb_text *text,
                             eb_error *error);

/* Reads such a text; `name` is the file's, for messages.  EB_PASSPHRASE: it is sealed, and no passphrase or another one
 * was given; EB_BAD_FORM: no such text; EB_TOO_NEW; EB_OUT_OF_RANGE: it wants more work than the limits; EB_DAMAGED:
 * seed and public key do not belong together; EB_OUT_OF_MEMORY. */
eb_status eb_maker_key_read(const char *name, const char *text, size_t size, const char *passphrase,
                            size_t passphrase_size, eb_maker_key *key, eb_error *error);

/* What needs no passphrase: who it is, and whether it is sealed. */
eb_status eb_maker_key_look(const char *name, const char *text, size_t size, eb_maker *maker, bool *sealed,
                            eb_error *error);

typedef enum eb_statement_kind { EB_CARD, EB_HANDOVER, EB_REVOCATION, EB_STATEMENT_KINDS } eb_statement_kind;
const char *eb_statement_word(eb_statement_kind kind); /* "card"; static */

typedef enum eb_revoked { EB_KEY_LOST, EB_KEY_STOLEN, EB_KEY_RETIRED, EB_REVOKED_REASONS } eb_revoked;
const char *eb_revoked_word(eb_revoked reason); /* "lost"; static */
bool eb_revoked_read(const char *word, eb_revoked *reason);

typedef struct eb_statement {
  eb_statement_kind kind;
  eb_maker maker; /* whose key it is about; of a handover the old one */
  eb_maker other; /* of a handover the new key, of a revocation the one that signs, of a card the maker once more */
  eb_revoked reason;
  char words[EB_STATEMENT_WORDS_SIZE]; /* of a revocation, may be empty */
} eb_statement;

/* Whether a text begins as a statement does. */
bool eb_statement_is(const char *text, size_t size);

/* Reads and verifies; `name` is the file's, for messages. Only what eb_statement_write makes of the content is taken.
 * EB_OUT_OF_RANGE, EB_TOO_NEW, EB_BAD_FORM, EB_BAD_PURPOSE, EB_BAD_SIGNATURE, EB_OUT_OF_MEMORY. Whether the signer has
 * a say in the matter is the shelf's question (shelf.h). */
eb_status eb_statement_read(const eb_host *host, const char *name, const char *text, size_t size,
                            eb_statement *statement, eb_error *error);

/* Adds the text of a statement, signed by its signers: the maker of a card, `by` of a revocation, and of a handover the
 * old key and the new one.  The statement's keys are set from them. EB_BAD_TEXT (a name, or words that cannot be
 * shown), EB_OUT_OF_MEMORY. */
eb_status eb_card_write(const eb_host *host, const eb_maker_key *maker, eb_text *text, eb_error *error);
eb_status eb_handover_write(const eb_host *host, const eb_maker_key *from, const eb_maker_key *to, eb_text *text,
                            eb_error *error);
eb_status eb_revocation_write(const eb_host *host, const eb_maker *maker, const eb_maker_key *by, eb_revoked reason,
                              const char *words, eb_text *text, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
