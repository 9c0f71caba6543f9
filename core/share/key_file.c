/* A maker's private key as it lies on the disk, sealed with a passphrase or not. */
#include "maker_json.h"

#include "evenbore/json.h"
#include "evenbore/maker.h"

#include <assert.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum { BOX_BYTES = EB_KEY_BYTES + crypto_secretbox_MACBYTES, TEXT_SIZE = 128 };

typedef struct seal {
  unsigned char salt[crypto_pwhash_SALTBYTES];
  unsigned char nonce[crypto_secretbox_NONCEBYTES];
  unsigned char box[BOX_BYTES];
  int passes, memory_kib;
} seal;

void eb_maker_key_forget(eb_maker_key *key)
{
  sodium_memzero(key, sizeof *key);
}

static bool set_bytes(eb_json *object, const char *key, const unsigned char *bytes, size_t size)
{
  char text[TEXT_SIZE];
  sodium_bin2base64(text, sizeof text, bytes, size, sodium_base64_VARIANT_ORIGINAL);
  bool set = eb_json_set_string(object, key, text);
  sodium_memzero(text, sizeof text);
  return set;
}

static bool get_bytes(const eb_json *object, const char *key, unsigned char *bytes, size_t size)
{
  const char *text = eb_json_get_string(object, key, "");
  const char *end = NULL;
  size_t got = 0;
  return sodium_base642bin(bytes, size, text, strlen(text), NULL, &got, &end, sodium_base64_VARIANT_ORIGINAL) == 0 &&
         got == size && *end == '\0';
}

/* False where so much memory cannot be had. */
static bool stretch(const seal *with, const char *passphrase, size_t size, unsigned char key[crypto_secretbox_KEYBYTES])
{
  return crypto_pwhash(key, crypto_secretbox_KEYBYTES, passphrase, size, with->salt, (unsigned long long)with->passes,
                       (size_t)with->memory_kib * 1024, crypto_pwhash_ALG_ARGON2ID13) == 0;
}

static eb_status no_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory: a passphrase needs %d MiB",
                 (int)EB_PASSPHRASE_MEMORY_KIB / 1024);
}

static eb_status close_box(const eb_secret_key *secret, const char *passphrase, size_t size, seal *made,
                           eb_error *error)
{
  unsigned char key[crypto_secretbox_KEYBYTES];
  made->passes = EB_PASSPHRASE_PASSES;
  made->memory_kib = EB_PASSPHRASE_MEMORY_KIB;
  randombytes_buf(made->salt, sizeof made->salt);
  randombytes_buf(made->nonce, sizeof made->nonce);
  if (!stretch(made, passphrase, size, key))
    return no_memory(error);
  crypto_secretbox_easy(made->box, secret->seed, EB_KEY_BYTES, made->nonce, key);
  sodium_memzero(key, sizeof key);
  return EB_OK;
}

static bool add_seal(eb_json *file, const seal *with)
{
  eb_json *sealed = eb_json_object();
  if (set_bytes(sealed, "salt", with->salt, sizeof with->salt) &&
      set_bytes(sealed, "nonce", with->nonce, sizeof with->nonce) &&
      eb_json_set_number(sealed, "passes", with->passes) &&
      eb_json_set_number(sealed, "memory_kib", with->memory_kib) &&
      set_bytes(sealed, "box", with->box, sizeof with->box))
    return eb_json_set(file, "sealed", sealed);
  eb_json_destroy(sealed);
  return false;
}

eb_status eb_maker_key_write(const eb_maker_key *key, const char *passphrase, size_t passphrase_size, eb_text *text,
                             eb_error *error)
{
  seal with;
  bool seals = passphrase != NULL && passphrase_size > 0;
  assert(!seals || passphrase_size <= EB_PASSPHRASE_MAX);
  eb_status status = eb_maker_name_check(key->name, error);
  if (status == EB_OK && sodium_init() < 0)
    status = eb_fail(error, EB_IO, "", "this machine gives no random numbers");
  if (status == EB_OK && seals)
    status = close_box(&key->secret, passphrase, passphrase_size, &with, error);
  if (status != EB_OK)
    return status;
  eb_json *file = eb_json_object();
  bool made = eb_json_set_string(file, "format", "evenbore-key") && eb_json_set_number(file, "version", 1) &&
              eb_json_set_string(file, "name", key->name) &&
              eb_json_set_string(file, "key", key->secret.public_key.text) &&
              (seals ? add_seal(file, &with) : set_bytes(file, "seed", key->secret.seed, EB_KEY_BYTES));
  if (made)
    eb_json_write_lines(text, file);
  eb_json_destroy(file);
  return made && !text->failed ? EB_OK : eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

static eb_status bad_form(const char *name, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  return eb_fail(error, EB_BAD_FORM, place, "this is no private key of this program, or it was changed");
}

static eb_status read_file(const char *name, const char *text, size_t size, eb_json **file, eb_maker *maker,
                           eb_error *error)
{
  eb_json *read = NULL;
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  eb_status status = eb_json_parse(text, size, &read, NULL);
  if (status == EB_OUT_OF_MEMORY)
    return eb_fail(error, status, "", "out of memory");
  bool is_key = status == EB_OK && strcmp(eb_json_get_string(read, "format", ""), "evenbore-key") == 0;
  if (is_key && eb_json_get_number(read, "version", 0) > 1)
    status = eb_fail(error, EB_TOO_NEW, place, "a later evenbore wrote this key; a newer one is needed to read it");
  else if (!is_key || !maker_json_read(read, maker))
    status = bad_form(name, error);
  if (status != EB_OK) {
    eb_json_destroy(read);
    return status;
  }
  *file = read;
  return EB_OK;
}

eb_status eb_maker_key_look(const char *name, const char *text, size_t size, eb_maker *maker, bool *sealed,
                            eb_error *error)
{
  eb_json *file = NULL;
  eb_status status = read_file(name, text, size, &file, maker, error);
  if (status != EB_OK)
    return status;
  *sealed = eb_json_get(file, "sealed") != NULL;
  eb_json_destroy(file);
  return EB_OK;
}

/* What a file wants to be done is bounded before it is done. */
static eb_status read_seal(const char *name, const eb_json *sealed, seal *read, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  read->passes = eb_json_get_int(sealed, "passes", 0);
  read->memory_kib = eb_json_get_int(sealed, "memory_kib", 0);
  if (!get_bytes(sealed, "salt", read->salt, sizeof read->salt) ||
      !get_bytes(sealed, "nonce", read->nonce, sizeof read->nonce) ||
      !get_bytes(sealed, "box", read->box, sizeof read->box) || read->passes < 1 || read->memory_kib < 8)
    return bad_form(name, error);
  if (read->passes > EB_PASSPHRASE_PASSES_MAX || read->memory_kib > EB_PASSPHRASE_MEMORY_KIB_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "its passphrase wants %d passes over %d MiB; no more than %d over %d are done", read->passes,
                   read->memory_kib / 1024, (int)EB_PASSPHRASE_PASSES_MAX, (int)EB_PASSPHRASE_MEMORY_KIB_MAX / 1024);
  return EB_OK;
}

static eb_status open_box(const char *name, const eb_json *sealed, const char *passphrase, size_t size,
                          unsigned char seed[EB_KEY_BYTES], eb_error *error)
{
  seal with;
  unsigned char key[crypto_secretbox_KEYBYTES];
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  eb_status status = read_seal(name, sealed, &with, error);
  if (status != EB_OK)
    return status;
  if (passphrase == NULL || size == 0)
    return eb_fail(error, EB_PASSPHRASE, place, "this key is sealed; its passphrase is wanted");
  if (!stretch(&with, passphrase, size, key))
    return no_memory(error);
  if (crypto_secretbox_open_easy(seed, with.box, sizeof with.box, with.nonce, key) != 0)
    status = eb_fail(error, EB_PASSPHRASE, place, "this is not the passphrase of this key");
  sodium_memzero(key, sizeof key);
  return status;
}

eb_status eb_maker_key_read(const char *name, const char *text, size_t size, const char *passphrase,
                            size_t passphrase_size, eb_maker_key *key, eb_error *error)
{
  eb_json *file = NULL;
  eb_maker maker;
  eb_maker_key read;
  unsigned char seed[EB_KEY_BYTES];
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  eb_status status = read_file(name, text, size, &file, &maker, error);
  if (status != EB_OK)
    return status;
  const eb_json *sealed = eb_json_get(file, "sealed");
  if (sealed != NULL)
    status = open_box(name, sealed, passphrase, passphrase_size, seed, error);
  else if (!get_bytes(file, "seed", seed, sizeof seed))
    status = bad_form(name, error);
  eb_json_destroy(file);
  if (status == EB_OK) {
    eb_secret_key_from_seed(seed, &read.secret);
    memcpy(read.name, maker.name, sizeof read.name);
    if (!eb_public_key_equal(&read.secret.public_key, &maker.key))
      status = eb_fail(error, EB_DAMAGED, place, "the private key and the public key in it do not belong together");
    else
      *key = read;
    eb_maker_key_forget(&read);
  }
  sodium_memzero(seed, sizeof seed);
  return status;
}
