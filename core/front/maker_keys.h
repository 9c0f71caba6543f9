/* Maker's keys: the private keys that a shop signs with, DATA/keys/KEY.json, each its owner's alone. */
#ifndef EVENBORE_MAKER_KEYS_H
#define EVENBORE_MAKER_KEYS_H

#include "data.h"
#include "run.h"

#include "evenbore/maker.h"

/* The file that a key has by its name: small letters, digits and hyphens. EB_BAD_VALUE. */
eb_status eb_maker_keys_path(const eb_run *run, const char *name, char path[EB_DATA_PATH_SIZE], eb_error *error);

/* Who a key is, without its passphrase; `name` NULL: the only one there is (EB_BAD_VALUE: several).  EB_NOT_FOUND,
 * EB_KEY_OPEN (others can read the file), and what eb_maker_key_look says. */
eb_status eb_maker_keys_look(const eb_run *run, const char *name, eb_maker *maker, bool *sealed, eb_error *error);

/* The key to sign with, `name` as above.  A sealed one asks for its passphrase (secret.h).  Forgotten by the caller
 * (eb_maker_key_forget). */
eb_status eb_maker_keys_open(const eb_run *run, const char *name, eb_maker_key *key, eb_error *error);

/* Writes a key, the old one or the new one whatever fails; the folder and the file are their owner's alone.
 * `fresh`: EB_EXISTS where there is one of that name. passphrase NULL: unsealed. */
eb_status eb_maker_keys_write(const eb_run *run, const char *name, const eb_maker_key *key, const char *passphrase,
                              size_t passphrase_size, bool fresh, eb_error *error);

#endif
