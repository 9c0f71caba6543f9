/* The command `maker`: a shop's own keys, and what it states about them. */
#include "maker_keys.h"
#include "secret.h"
#include "shop_file.h"
#include "shop_shelf.h"

#include "evenbore/file.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int refuse(const eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return eb_run_status(error->status);
}

static void say_fingerprint(eb_page *page, const eb_public_key *key)
{
  char text[EB_FINGERPRINT_SIZE], line[EB_FINGERPRINT_SIZE + 20];
  eb_fingerprint(key, text);
  snprintf(line, sizeof line, "fingerprint  %s", text);
  eb_page_paragraph(page, EB_PLAIN, "  ", "    ", line);
}

static void say_key(const eb_run *run, eb_page *page, const char *name)
{
  char line[EB_SHOP_NAME_SIZE + EB_MAKER_NAME_SIZE + sizeof((eb_error *)NULL)->message];
  eb_maker maker;
  bool sealed = false;
  eb_error error;
  if (eb_maker_keys_look(run, name, &maker, &sealed, &error) != EB_OK) {
    snprintf(line, sizeof line, "%s  cannot be used (%s): %s", name, eb_status_word(error.status), error.message);
    eb_page_paragraph(page, EB_PLAIN, "", "  ", line);
    return;
  }
  snprintf(line, sizeof line, "%s  %s, %s", name, maker.name,
           sealed ? "sealed with a passphrase" : "without a passphrase");
  eb_page_paragraph(page, EB_STRONG, "", "  ", line);
  say_fingerprint(page, &maker.key);
}

static int list(const eb_run *run)
{
  char folder[EB_DATA_PATH_SIZE];
  eb_shop_names names;
  eb_page page;
  eb_error error;
  eb_status status = eb_data_path(run->options.data, "keys", folder, &error);
  if (status == EB_OK)
    status = eb_shop_names_list(run->host, folder, &names, &error);
  if (status != EB_OK)
    return refuse(run, &error);
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < names.count; i++)
    say_key(run, &page, names.names[i]);
  if (names.count == 0)
    eb_page_say(&page, "No keys yet. Make one with: evenbore maker make KEY \"NAME\" (evenbore help maker says more).");
  eb_shop_names_clear(&names);
  return eb_run_print(run, &page);
}

/* A passphrase for a key that is made: typed twice at a terminal, where Enter alone means none. */
static eb_status new_passphrase(const eb_run *run, eb_secret *secret, eb_error *error)
{
  eb_secret again = {.size = 0};
  *secret = (eb_secret){.size = 0};
  if (run->options.no_passphrase && run->options.passphrase_file != NULL)
    return eb_fail(error, EB_BAD_VALUE, "--no-passphrase", "goes without --passphrase-file");
  if (run->options.no_passphrase)
    return EB_OK;
  if (run->options.passphrase_file == NULL && isatty(STDIN_FILENO) != 1)
    return eb_fail(error, EB_PASSPHRASE, "",
                   "there is no terminal to type a passphrase at; give --passphrase-file, or --no-passphrase");
  eb_status status = eb_secret_read(run, "A passphrase for the key (Enter alone: none):", secret, error);
  if (status != EB_OK || run->options.passphrase_file != NULL || secret->size == 0)
    return status;
  status = eb_secret_read(run, "The same once more:", &again, error);
  if (status == EB_OK && (again.size != secret->size || memcmp(again.bytes, secret->bytes, again.size) != 0))
    status = eb_fail(error, EB_PASSPHRASE, "", "the two are not the same; nothing was done");
  eb_secret_forget(&again);
  return status;
}

static int say_made(const eb_run *run, const char *lead, const char *name, const eb_maker_key *key, bool sealed)
{
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_sayf(&page, "%s %s of %s, %s.", lead, name, key->name,
               sealed ? "sealed with its passphrase" : "without a passphrase");
  say_fingerprint(&page, &key->secret.public_key);
  eb_page_say(&page, "Read the fingerprint to whoever is to trust you, over a telephone or on paper, never in the mail "
                     "that brings the procedure.");
  return eb_run_print(run, &page);
}

static int make(const eb_run *run, const char *name, const char *title)
{
  eb_error error;
  eb_secret secret = {.size = 0};
  eb_maker_key key = {.name = ""};
  char path[EB_DATA_PATH_SIZE];
  eb_status status = eb_maker_name_check(title, &error);
  if (status == EB_OK)
    status = eb_maker_keys_path(run, name, path, &error);
  if (status == EB_OK && run->host->files.kind(run->host->context, path) != EB_PATH_NOTHING)
    status = eb_fail(&error, EB_EXISTS, name, "there is a key of this name already; no key is ever written over");
  if (status == EB_OK)
    status = new_passphrase(run, &secret, &error);
  if (status == EB_OK)
    status = eb_secret_key_make(&key.secret, &error);
  if (status == EB_OK) {
    snprintf(key.name, sizeof key.name, "%s", title);
    status = eb_maker_keys_write(run, name, &key, secret.bytes, secret.size, true, &error);
  }
  int exit_status = status == EB_OK ? say_made(run, "Made the key", name, &key, secret.size > 0) : refuse(run, &error);
  eb_secret_forget(&secret);
  eb_maker_key_forget(&key);
  return exit_status;
}

/* The old passphrase is typed at the terminal, the new one may come from a file. */
static int seal(const eb_run *run, const char *name)
{
  eb_error error;
  eb_secret secret = {.size = 0};
  eb_maker_key key = {.name = ""};
  eb_run old = *run;
  old.options.passphrase_file = NULL;
  eb_status status = eb_maker_keys_open(&old, name, &key, &error);
  if (status == EB_OK)
    status = new_passphrase(run, &secret, &error);
  if (status == EB_OK)
    status = eb_maker_keys_write(run, name, &key, secret.bytes, secret.size, false, &error);
  int exit_status = status == EB_OK ? say_made(run, "Wrote the key", name, &key, secret.size > 0) : refuse(run, &error);
  eb_secret_forget(&secret);
  eb_maker_key_forget(&key);
  return exit_status;
}

/* A statement goes to a new file, or to standard output. */
static int give(const eb_run *run, eb_status status, eb_text *text, eb_error *error)
{
  int exit_status = EB_EXIT_DONE;
  const char *path = run->options.output;
  if (status == EB_OK && path != NULL)
    status = eb_file_create(run->host, path, text->bytes, text->size, 0666, error);
  else if (status == EB_OK)
    exit_status = eb_run_write(run, text);
  eb_text_clear(text);
  return status == EB_OK ? exit_status : refuse(run, error);
}

static int card(const eb_run *run, const char *name)
{
  eb_error error;
  eb_text text;
  eb_maker_key key = {.name = ""};
  eb_text_init(&text, run->host);
  eb_status status = eb_maker_keys_open(run, name, &key, &error);
  if (status == EB_OK)
    status = eb_card_write(run->host, &key, &text, &error);
  eb_maker_key_forget(&key);
  return give(run, status, &text, &error);
}

static int handover(const eb_run *run, const char *old_name, const char *new_name)
{
  eb_error error;
  eb_text text;
  eb_maker_key from = {.name = ""}, to = {.name = ""};
  eb_text_init(&text, run->host);
  eb_status status = eb_maker_keys_open(run, old_name, &from, &error);
  if (status == EB_OK)
    status = eb_maker_keys_open(run, new_name, &to, &error);
  if (status == EB_OK)
    status = eb_handover_write(run->host, &from, &to, &text, &error);
  eb_maker_key_forget(&from);
  eb_maker_key_forget(&to);
  return give(run, status, &text, &error);
}

/* Whose key is revoked: one that lies here, or, where that is lost, the one on its card. */
static eb_status revoked_maker(const eb_run *run, const char *typed, eb_maker *maker, eb_error *error)
{
  bool sealed = false;
  char *text = NULL;
  size_t size = 0;
  eb_statement statement = {.kind = EB_CARD};
  if (strchr(typed, '.') == NULL && strchr(typed, '/') == NULL)
    return eb_maker_keys_look(run, typed, maker, &sealed, error);
  eb_status status = eb_shop_shelf_read(run, typed, &text, &size, error);
  if (status == EB_OK)
    status = eb_statement_read(run->host, typed, text, size, &statement, error);
  run->host->allocate(run->host->context, text, 0);
  if (status == EB_OK && statement.kind != EB_CARD)
    status = eb_fail(error, EB_BAD_VALUE, typed, "this is a %s; a maker's card is wanted",
                     eb_statement_word(statement.kind));
  if (status == EB_OK)
    *maker = statement.maker;
  return status;
}

static int revoke_key(const eb_run *run, const char *typed, const char *word, const char *words)
{
  eb_error error;
  eb_text text;
  eb_maker maker;
  eb_revoked reason;
  eb_maker_key key = {.name = ""};
  eb_text_init(&text, run->host);
  eb_status status = EB_OK;
  if (!eb_revoked_read(word, &reason))
    status = eb_fail(&error, EB_BAD_VALUE, word, "no reason to revoke a key; there are lost, stolen and retired");
  if (status == EB_OK)
    status = revoked_maker(run, typed, &maker, &error);
  if (status == EB_OK)
    status = eb_maker_keys_open(run, run->options.by == NULL ? typed : run->options.by, &key, &error);
  if (status == EB_OK)
    status = eb_revocation_write(run->host, &maker, &key, reason, words, &text, &error);
  eb_maker_key_forget(&key);
  return give(run, status, &text, &error);
}

int eb_run_maker(const eb_run *run)
{
  const char *verb = run->options.argument;
  const char *const *words = run->options.values;
  int count = run->options.value_count;
  eb_error error;
  if (verb == NULL)
    return list(run);
  if (strcmp(verb, "make") == 0 && count == 2)
    return make(run, words[0], words[1]);
  if (strcmp(verb, "seal") == 0 && count == 1)
    return seal(run, words[0]);
  if (strcmp(verb, "card") == 0 && count == 1)
    return card(run, words[0]);
  if (strcmp(verb, "handover") == 0 && count == 2)
    return handover(run, words[0], words[1]);
  if (strcmp(verb, "revoke") == 0 && (count == 2 || count == 3))
    return revoke_key(run, words[0], words[1], count == 3 ? words[2] : "");
  eb_fail(&error, EB_BAD_VALUE, verb,
          "make KEY \"NAME\", seal KEY, card KEY, handover OLD NEW or revoke KEY REASON is wanted; see evenbore help "
          "maker");
  return refuse(run, &error);
}
