#include "load.h"

#include "shop_shelf.h"

#include "evenbore/file.h"
#include "evenbore/script.h"
#include "evenbore/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

typedef struct ids {
  char id[EB_SHELF_MAX][EB_SHELF_ID_SIZE];
  size_t count;
} ids;

static bool take_id(void *context, const char *path, const eb_bundle *bundle, const eb_error *why)
{
  (void)path;
  (void)why;
  ids *list = context;
  if (bundle != NULL && list->count < EB_SHELF_MAX)
    snprintf(list->id[list->count++], EB_SHELF_ID_SIZE, "%s", bundle->manifest.id);
  return true;
}

static eb_status unknown_procedure(const eb_shop_shelf *shop, const char *name, eb_error *error)
{
  const char *words[EB_BUILTINS_MAX + EB_SHELF_MAX];
  ids list = {.count = 0};
  size_t count = shop->count;
  eb_status status = eb_shelf_list(shop->shelf, take_id, &list, error);
  if (status != EB_OK)
    return status;
  memcpy(words, shop->words, count * sizeof *words);
  for (size_t i = 0; i < list.count; i++)
    words[count++] = list.id[i];
  const char *near = eb_nearest(name, words, count);
  if (near != NULL)
    return eb_fail(error, EB_NOT_FOUND, name, "no such procedure; the nearest is %s", near);
  return eb_fail(error, EB_NOT_FOUND, name,
                 "no such procedure; evenbore procedures lists them, and a file's name ends "
                 "in .lua");
}

static eb_status check_text(const char *path, const char *text, size_t size, eb_error *error)
{
  size_t bad = 0;
  if (size == 0)
    return eb_fail(error, EB_BAD_TEXT, path, "this file is empty; a procedure is a Lua text");
  if (memchr(text, '\0', size) != NULL)
    return eb_fail(error, EB_BAD_TEXT, path, "this file holds a NUL byte; a procedure is a Lua text, not bytecode");
  if (!eb_utf8_valid(text, size, &bad))
    return eb_fail(error, EB_BAD_TEXT, path, "byte %zu is not UTF-8; save the file as UTF-8 text", bad + 1);
  return EB_OK;
}

/* The whole text of a file, owned by the caller. */
static eb_status read_text(const eb_host *host, const char *path, char **text, size_t *size, eb_error *error)
{
  char *made = NULL;
  eb_status status = eb_file_read(host, path, EB_PROCEDURE_SOURCE_MAX, EB_FILE_NAMED, &made, size, error);
  if (status != EB_OK)
    return status;
  status = check_text(path, made, *size, error);
  if (status == EB_OK)
    *text = made;
  else
    host->allocate(host->context, made, 0);
  return status;
}

bool eb_load_next_required(const eb_source *source, size_t *at, char *name, size_t room)
{
  static const char word[] = "require";
  const char *met = NULL;
  assert(source->text != NULL);
  while ((met = strstr(source->text + *at, word)) != NULL) {
    const char *c = met + sizeof word - 1;
    c += strspn(c, " \t(");
    *at = (size_t)(c - source->text);
    if (*c != '"' && *c != '\'')
      continue;
    size_t size = strspn(c + 1, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-");
    if (size == 0 || c[1 + size] != *c || size >= room)
      continue;
    memcpy(name, c + 1, size);
    name[size] = '\0';
    return true;
  }
  return false;
}

static bool has_library(const eb_loaded *loaded, const char *name)
{
  char file[80], own[80];
  snprintf(file, sizeof file, "lib/%s.lua", name);
  snprintf(own, sizeof own, "./lib/%s.lua", name);
  for (size_t i = 0; i < loaded->library_count; i++)
    if (strcmp(loaded->library[i].name, file) == 0 || strcmp(loaded->library[i].name, own) == 0)
      return true;
  return false;
}

/* lib/NAME.lua in the procedure's folder; where there is none, the procedure's own `require` tells. */
static eb_status add_own(eb_loaded *loaded, const char *path, const char *name, eb_error *error)
{
  char file[1024];
  const eb_host *host = loaded->host;
  const char *slash = strrchr(path, '/');
  int used = snprintf(file, sizeof file, "%.*slib/%s.lua", slash == NULL ? 0 : (int)(slash + 1 - path), path, name);
  if (used < 0 || (size_t)used >= sizeof file || host->files.kind(host->context, file) == EB_PATH_NOTHING)
    return EB_OK;
  if (loaded->library_count == EB_PROCEDURE_FILES_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, file, "more than %d library files; put some of them together",
                   (int)(EB_PROCEDURE_FILES_MAX - loaded->builtin_count));
  eb_source *own = &loaded->library[loaded->library_count];
  char *text = NULL, *full = NULL;
  size_t size = 0, full_size = strlen(name) + sizeof "./lib/.lua";
  eb_status status = read_text(host, file, &text, &size, error);
  if (status != EB_OK)
    return status;
  full = host->allocate(host->context, NULL, full_size);
  if (full == NULL) {
    host->allocate(host->context, text, 0);
    return eb_fail(error, EB_OUT_OF_MEMORY, file, "out of memory");
  }
  snprintf(full, full_size, "./lib/%s.lua", name);
  *own = (eb_source){.name = full, .text = text, .size = size};
  loaded->library_count++;
  return EB_OK;
}

/* What one source requires of the shop's own. */
static eb_status add_required(eb_loaded *loaded, const char *path, const eb_source *source, eb_error *error)
{
  char name[50];
  eb_status status = EB_OK;
  for (size_t at = 0; status == EB_OK && eb_load_next_required(source, &at, name, sizeof name);)
    if (!has_library(loaded, name))
      status = add_own(loaded, path, name, error);
  return status;
}

static eb_status read_file(const char *path, eb_loaded *loaded, eb_error *error)
{
  size_t size = 0;
  eb_status status = read_text(loaded->host, path, &loaded->text, &size, error);
  if (status != EB_OK)
    return status;
  const char *slash = strrchr(path, '/');
  snprintf(loaded->name, sizeof loaded->name, "%s", slash == NULL ? path : slash + 1);
  loaded->source = (eb_source){.name = loaded->name, .text = loaded->text, .size = size};
  status = add_required(loaded, path, &loaded->source, error);
  for (size_t i = loaded->builtin_count; status == EB_OK && i < loaded->library_count; i++)
    status = add_required(loaded, path, &loaded->library[i], error);
  return status;
}

static bool is_path(const char *name)
{
  size_t size = strlen(name);
  return strchr(name, '/') != NULL || (size > 4 && strcmp(name + size - 4, ".lua") == 0);
}

static void begin(const eb_host *host, eb_loaded *loaded)
{
  *loaded = (eb_loaded){.host = host};
  const eb_source *library = eb_script_builtin_library(&loaded->builtin_count);
  loaded->library_count = loaded->builtin_count;
  memcpy(loaded->library, library, loaded->builtin_count * sizeof *library);
}

static bool is_bundle(const char *name)
{
  size_t size = strlen(name), end = sizeof EB_BUNDLE_ENDING - 1;
  return size > end && strcmp(name + size - end, EB_BUNDLE_ENDING) == 0;
}

static eb_status load_from_shelf(const eb_shop_shelf *shop, const char *name, eb_loaded *loaded, eb_error *error)
{
  eb_bundle bundle;
  const eb_host *host = loaded->host;
  eb_status status = eb_shelf_find(shop->shelf, name, &bundle, NULL, error);
  if (status == EB_NOT_FOUND && strchr(name, '@') == NULL)
    return unknown_procedure(shop, name, error);
  if (status != EB_OK)
    return status;
  status = eb_load_bundle(host, &bundle, loaded, error);
  if (status == EB_OK)
    loaded->bundle = bundle;
  else
    eb_bundle_clear(&bundle);
  return status;
}

eb_status eb_load(const eb_host *host, const char *data, const char *name, eb_loaded *loaded, eb_error *error)
{
  eb_shop_shelf shop;
  begin(host, loaded);
  if (is_bundle(name))
    return eb_fail(error, EB_BAD_VALUE, name,
                   "this is a bundle; evenbore add puts it on the shelf, and its procedure runs by its id from there");
  if (is_path(name)) {
    eb_status status = read_file(name, loaded, error);
    if (status != EB_OK)
      eb_load_clear(loaded);
    return status;
  }
  const eb_source *builtin = eb_script_builtin_procedure(name);
  if (builtin != NULL) {
    loaded->source = *builtin;
    return EB_OK;
  }
  eb_status status = eb_shop_shelf_open(host, data, false, &shop, error);
  if (status == EB_OK)
    status = load_from_shelf(&shop, name, loaded, error);
  eb_shop_shelf_close(&shop);
  return status;
}

eb_status eb_load_bundle(const eb_host *host, const eb_bundle *bundle, eb_loaded *loaded, eb_error *error)
{
  eb_loaded made;
  begin(host, &made);
  if (made.library_count + bundle->source_count - 1 > EB_PROCEDURE_FILES_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, bundle->manifest.id, "it brings %zu library files; at most %d can be run",
                   bundle->source_count - 1, (int)(EB_PROCEDURE_FILES_MAX - made.builtin_count));
  for (size_t i = 1; i < bundle->source_count; i++)
    for (size_t k = 0; k < made.builtin_count; k++)
      if (strcmp(bundle->source[i].name + 2, made.library[k].name) == 0)
        return eb_fail(error, EB_SHADOWS, bundle->manifest.id,
                       "its file %s has the name of a built-in one, which would be taken instead; the maker has to "
                       "give it another",
                       made.library[k].name);
  made.borrows = true;
  made.source = bundle->source[0];
  for (size_t i = 1; i < bundle->source_count; i++)
    made.library[made.library_count++] = bundle->source[i];
  *loaded = made;
  return EB_OK;
}

void eb_load_clear(eb_loaded *loaded)
{
  const eb_host *host = loaded->host;
  if (loaded->borrows) {
    eb_bundle_clear(&loaded->bundle);
    return;
  }
  for (size_t i = loaded->builtin_count; i < loaded->library_count; i++) {
    host->allocate(host->context, (char *)loaded->library[i].name, 0);
    host->allocate(host->context, (char *)loaded->library[i].text, 0);
  }
  loaded->library_count = loaded->builtin_count;
  host->allocate(host->context, loaded->text, 0);
  loaded->text = NULL;
}

static eb_status first_request(eb_procedure *procedure, const char *name, eb_json **declare, eb_error *error)
{
  eb_json *made = NULL;
  eb_status status = procedure->exchange(procedure->self, NULL, &made, error);
  if (status == EB_OK && strcmp(eb_json_get_string(made, "op", ""), "declare") != 0) {
    eb_json_destroy(made);
    return eb_fail(error, EB_SCRIPT, name, "the procedure declares nothing; it is to return procedure { ... }");
  }
  if (status == EB_OK)
    *declare = made;
  return status;
}

eb_status eb_load_declare(const eb_host *host, const eb_runner *runner, const eb_source *source,
                          const eb_source *library, size_t library_count, eb_json **declare, eb_error *error)
{
  eb_procedure procedure;
  eb_status status = runner->start(runner->context, host, source, library, library_count, &procedure, error);
  if (status != EB_OK)
    return status;
  status = first_request(&procedure, source->name, declare, error);
  procedure.destroy(procedure.self);
  return status;
}
