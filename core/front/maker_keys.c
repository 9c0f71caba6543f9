#include "maker_keys.h"

#include "secret.h"
#include "shop_file.h"

#include "evenbore/file.h"

#include <stdio.h>
#include <string.h>

static const char folder_name[] = "keys";

eb_status eb_maker_keys_path(const eb_run *run, const char *name, char path[EB_DATA_PATH_SIZE], eb_error *error)
{
  char below[EB_DATA_NAME_SIZE + 32];
  eb_status status = eb_data_check_name("key", name, error);
  if (status != EB_OK)
    return status;
  snprintf(below, sizeof below, "%s/%s.json", folder_name, name);
  return eb_data_path(run->options.data, below, path, error);
}

/* What was read holds a secret, so it is overwritten before it is given back. */
static void give_back(const eb_run *run, char *text, size_t size)
{
  if (text != NULL)
    explicit_bzero(text, size);
  run->host->allocate(run->host->context, text, 0);
}

static eb_status read_file(const eb_run *run, const char *name, char path[EB_DATA_PATH_SIZE], char **text, size_t *size,
                           eb_error *error)
{
  eb_status status = eb_maker_keys_path(run, name, path, error);
  if (status == EB_OK)
    status = eb_file_read(run->host, path, EB_KEY_FILE_MAX, EB_FILE_PRIVATE, text, size, error);
  if (status == EB_NOT_FOUND)
    return eb_fail(error, status, name, "no such key; evenbore maker lists yours, evenbore maker make %s NAME makes it",
                   name);
  return status;
}

/* The only key there is. */
static eb_status only_name(const eb_run *run, char name[EB_DATA_NAME_SIZE], eb_error *error)
{
  char folder[EB_DATA_PATH_SIZE];
  eb_shop_names names;
  eb_status status = eb_data_path(run->options.data, folder_name, folder, error);
  if (status == EB_OK)
    status = eb_shop_names_list(run->host, folder, &names, error);
  if (status != EB_OK)
    return status;
  if (names.count == 0)
    status =
        eb_fail(error, EB_NOT_FOUND, "", "there is no key to sign with; make one with evenbore maker make KEY NAME");
  else if (names.count > 1)
    status =
        eb_fail(error, EB_BAD_VALUE, "", "there are %zu keys; say which one (evenbore maker lists them)", names.count);
  else
    snprintf(name, EB_DATA_NAME_SIZE, "%.*s", (int)EB_DATA_NAME_SIZE - 1, names.names[0]);
  eb_shop_names_clear(&names);
  return status;
}

eb_status eb_maker_keys_look(const eb_run *run, const char *name, eb_maker *maker, bool *sealed, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE], only[EB_DATA_NAME_SIZE];
  char *text = NULL;
  size_t size = 0;
  eb_status status = name == NULL ? only_name(run, only, error) : EB_OK;
  if (status == EB_OK)
    status = read_file(run, name == NULL ? only : name, path, &text, &size, error);
  if (status != EB_OK)
    return status;
  status = eb_maker_key_look(path, text, size, maker, sealed, error);
  give_back(run, text, size);
  return status;
}

static eb_status open_key(const eb_run *run, const char *name, eb_maker_key *key, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE], question[EB_DATA_NAME_SIZE + 40];
  char *text = NULL;
  size_t size = 0;
  eb_maker maker;
  bool sealed = false;
  eb_secret secret = {.size = 0};
  eb_status status = read_file(run, name, path, &text, &size, error);
  if (status != EB_OK)
    return status;
  status = eb_maker_key_look(path, text, size, &maker, &sealed, error);
  snprintf(question, sizeof question, "Passphrase of the key %s:", name);
  if (status == EB_OK && sealed)
    status = eb_secret_read(run, question, &secret, error);
  if (status == EB_OK)
    status = eb_maker_key_read(path, text, size, secret.bytes, secret.size, key, error);
  eb_secret_forget(&secret);
  give_back(run, text, size);
  return status;
}

eb_status eb_maker_keys_open(const eb_run *run, const char *name, eb_maker_key *key, eb_error *error)
{
  char only[EB_DATA_NAME_SIZE];
  if (name != NULL)
    return open_key(run, name, key, error);
  eb_status status = only_name(run, only, error);
  return status == EB_OK ? open_key(run, only, key, error) : status;
}

static eb_status write_held(const eb_run *run, const char *path, const eb_text *text, bool fresh, eb_error *error)
{
  int held = -1;
  char folder[EB_PATH_SIZE];
  eb_path_folder(path, folder);
  eb_status status = eb_folder_make(run->host, folder, 0700, error);
  if (status == EB_OK)
    status = eb_folder_hold(run->host, folder, &held, error);
  if (status != EB_OK)
    return status;
  if (fresh && run->host->files.kind(run->host->context, path) != EB_PATH_NOTHING)
    status = eb_fail(error, EB_EXISTS, path, "there is a key of this name already; no key is ever written over");
  else
    status = eb_file_replace(run->host, path, text->bytes, text->size, 0600, error);
  eb_folder_release(run->host, held);
  return status;
}

eb_status eb_maker_keys_write(const eb_run *run, const char *name, const eb_maker_key *key, const char *passphrase,
                              size_t passphrase_size, bool fresh, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  eb_text text;
  eb_text_init(&text, run->host);
  eb_status status = eb_maker_keys_path(run, name, path, error);
  if (status == EB_OK)
    status = eb_maker_key_write(key, passphrase, passphrase_size, &text, error);
  if (status == EB_OK)
    status = write_held(run, path, &text, fresh, error);
  if (text.bytes != NULL)
    explicit_bzero(text.bytes, text.size);
  eb_text_clear(&text);
  return status;
}
