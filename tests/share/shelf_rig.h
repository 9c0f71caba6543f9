/* A shop's data folder, makers with known keys, and bundles of theirs. */
#ifndef EB_TESTS_SHELF_RIG_H
#define EB_TESTS_SHELF_RIG_H

#include "share/sample.h"

#include "evenbore/shelf.h"
#include "evenbore/text.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct shop {
  char data[64];
  eb_shelf *shelf;
  eb_error error;
} shop;

static const char *const rig_builtin[] = {"v8-coupled", "inline-four"};

static inline void shop_new(shop *s)
{
  *s = (shop){.shelf = NULL};
  snprintf(s->data, sizeof s->data, "%s/eb-shelf-XXXXXX", access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
  assert_non_null(mkdtemp(s->data));
}

static inline eb_status shop_open_by(shop *s, const eb_host *host, bool change)
{
  return eb_shelf_open(host, s->data, rig_builtin, 2, change, &s->shelf, &s->error);
}

static inline void shop_close(shop *s)
{
  eb_shelf_close(s->shelf);
  s->shelf = NULL;
}

static inline void shop_open(shop *s)
{
  if (shop_open_by(s, eb_host_system(), true) != EB_OK)
    fail_msg("%s: %s", s->error.place, s->error.message);
}

/* What was kept is read anew. */
static inline void shop_reopen(shop *s)
{
  shop_close(s);
  shop_open(s);
}

static inline int rig_unlink(const char *path, const struct stat *met, int kind, struct FTW *where)
{
  (void)met;
  (void)kind;
  (void)where;
  return remove(path);
}

static inline void rig_remove(const char *folder)
{
  nftw(folder, rig_unlink, 16, FTW_DEPTH | FTW_PHYS);
}

static inline void shop_end(shop *s)
{
  shop_close(s);
  rig_remove(s->data);
}

static inline eb_maker_key rig_key(unsigned char first, const char *name)
{
  eb_maker_key key = {.secret = sample_key(first)};
  snprintf(key.name, sizeof key.name, "%s", name);
  return key;
}

static inline eb_maker rig_maker(const eb_maker_key *key)
{
  eb_maker maker = {.key = key->secret.public_key};
  snprintf(maker.name, sizeof maker.name, "%s", key->name);
  return maker;
}

/* The text of a bundle. */
static inline void rig_bundle(eb_text *text, const eb_maker_key *key, const char *id, const char *version, int revision)
{
  eb_error error;
  eb_layout layout = sample_layout();
  eb_manifest manifest = sample_manifest(&layout);
  manifest.id = id;
  manifest.version = version;
  manifest.revision = revision;
  manifest.maker = key->name;
  eb_text_init(text, eb_host_system());
  if (sample_bundle(eb_host_system(), &manifest, &key->secret, text, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
}

static inline eb_status rig_add_as(shop *s, const eb_maker_key *key, const char *id, const char *version, int revision,
                                   bool *there)
{
  eb_text text;
  eb_bundle bundle;
  rig_bundle(&text, key, id, version, revision);
  assert_int_equal(eb_bundle_read(eb_host_system(), "b", text.bytes, text.size, &bundle, &s->error), EB_OK);
  eb_status status = eb_shelf_add(s->shelf, &bundle, text.bytes, text.size, there, &s->error);
  eb_bundle_clear(&bundle);
  eb_text_clear(&text);
  return status;
}

static inline eb_status rig_add(shop *s, const eb_maker_key *key, const char *id, const char *version, int revision)
{
  bool there = false;
  return rig_add_as(s, key, id, version, revision, &there);
}

static inline eb_status rig_take_text(shop *s, eb_text *text, bool *known)
{
  eb_statement statement;
  eb_status status = eb_statement_read(eb_host_system(), "s", text->bytes, text->size, &statement, &s->error);
  eb_text_clear(text);
  return status == EB_OK ? eb_shelf_take_statement(s->shelf, &statement, known, &s->error) : status;
}

static inline eb_status rig_handover(shop *s, const eb_maker_key *from, const eb_maker_key *to)
{
  eb_text text;
  bool known = false;
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_handover_write(eb_host_system(), from, to, &text, &s->error), EB_OK);
  return rig_take_text(s, &text, &known);
}

static inline eb_status rig_revoke(shop *s, const eb_maker_key *key, const eb_maker_key *by)
{
  eb_text text;
  bool known = false;
  eb_maker maker = rig_maker(key);
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_revocation_write(eb_host_system(), &maker, by, EB_KEY_STOLEN, "from the van", &text, &s->error),
                   EB_OK);
  return rig_take_text(s, &text, &known);
}

static inline eb_status rig_trust(shop *s, const eb_maker_key *key)
{
  char fingerprint[EB_FINGERPRINT_SIZE];
  eb_fingerprint(&key->secret.public_key, fingerprint);
  return eb_shelf_trust(s->shelf, &key->secret.public_key, fingerprint, &s->error);
}

static inline eb_standing rig_standing(const shop *s, const eb_maker_key *key)
{
  eb_known_maker known;
  eb_shelf_know(s->shelf, &key->secret.public_key, &known);
  return known.standing;
}

#endif
