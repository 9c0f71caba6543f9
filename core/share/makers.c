#include "makers.h"

#include "maker_json.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

enum { FILE_MAX = 1024 * 1024 };
static const char file_name[] = "makers.json";

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

static eb_json *new_file(void)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, "format", "evenbore-makers") && eb_json_set_number(made, "version", 1) &&
      eb_json_set(made, "makers", eb_json_array()))
    return made;
  eb_json_destroy(made);
  return NULL;
}

static bool is_key(const eb_json *text)
{
  eb_public_key key;
  return eb_public_key_read(eb_json_as_string(text, ""), &key, NULL) == EB_OK;
}

static bool entry_is_right(const eb_json *entry)
{
  eb_maker maker;
  eb_revoked reason;
  const eb_json *to = eb_json_get(entry, "to");
  const eb_json *revoked = eb_json_get(entry, "revoked");
  if (!maker_json_read(entry, &maker) || (to != NULL && !is_key(to)))
    return false;
  if (revoked != NULL &&
      (!is_key(eb_json_get(revoked, "by")) || !eb_revoked_read(eb_json_get_string(revoked, "reason", ""), &reason) ||
       !maker_text_fits(eb_json_get_string(revoked, "words", ""), EB_STATEMENT_WORDS_SIZE)))
    return false;
  for (const eb_json *seen = eb_json_first(eb_json_get(entry, "seen")); seen != NULL; seen = eb_json_next(seen))
    if (eb_json_get_int(seen, "revision", 0) < 1 || eb_json_get_string(seen, "id", NULL) == NULL)
      return false;
  return maker_text_fits(eb_json_get_string(entry, "trusted", ""), EB_TIME_TEXT_SIZE);
}

static eb_status check_file(const char *path, const eb_json *file, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  if (strcmp(eb_json_get_string(file, "format", ""), "evenbore-makers") != 0)
    return eb_fail(error, EB_BAD_FORM, place, "this is no list of makers; move it away, and trust whom you trust anew");
  if (eb_json_get_number(file, "version", 0) > 1)
    return eb_fail(error, EB_TOO_NEW, place, "a later evenbore wrote this list; a newer one is needed to read it");
  int number = 1;
  for (const eb_json *entry = eb_json_first(eb_json_get(file, "makers")); entry != NULL;
       entry = eb_json_next(entry), number++)
    if (!entry_is_right(entry) || makers_find(file, eb_json_get_string(entry, "key", "")) != entry)
      return eb_fail(error, EB_BAD_FORM, place, "maker %d of this list is not as this program writes it", number);
  return EB_OK;
}

static eb_status read_file(const eb_shelf *shelf, const char *path, eb_json **file, eb_error *error)
{
  char *text = NULL;
  size_t size = 0;
  eb_json *read = NULL;
  eb_status status = eb_file_read(shelf->host, path, FILE_MAX, EB_FILE_FOUND, &text, &size, error);
  if (status != EB_OK)
    return status;
  status = eb_json_parse_lines(path, text, size, &read, error);
  shelf->host->allocate(shelf->host->context, text, 0);
  if (status == EB_OK)
    status = check_file(path, read, error);
  if (status == EB_OK)
    *file = read;
  else
    eb_json_destroy(read);
  return status;
}

eb_status makers_load(eb_shelf *shelf, eb_error *error)
{
  char path[EB_PATH_SIZE];
  eb_json *file = NULL;
  eb_status status = eb_path_join(shelf->data, file_name, path, error);
  if (status == EB_OK)
    status = read_file(shelf, path, &file, error);
  if (status == EB_NOT_FOUND) {
    file = new_file();
    status = file == NULL ? out_of_memory(error) : EB_OK;
  }
  if (status == EB_OK)
    shelf->makers = file;
  return status;
}

static eb_status write_file(const eb_shelf *shelf, const eb_json *file, eb_error *error)
{
  char path[EB_PATH_SIZE];
  eb_text text;
  eb_text_init(&text, shelf->host);
  eb_json_write_lines(&text, file);
  eb_status status = text.failed ? out_of_memory(error) : eb_path_join(shelf->data, file_name, path, error);
  if (status == EB_OK && (text.size > FILE_MAX || eb_json_count(eb_json_get(file, "makers")) > EB_SHELF_MAKERS_MAX))
    status = eb_fail(error, EB_OUT_OF_RANGE, file_name, "more than %d makers, or %d KiB, are not kept",
                     (int)EB_SHELF_MAKERS_MAX, (int)FILE_MAX / 1024);
  if (status == EB_OK)
    status = eb_file_replace(shelf->host, path, text.bytes, text.size, 0644, error);
  eb_text_clear(&text);
  return status;
}

eb_status makers_save(eb_shelf *shelf, eb_json *changed, eb_error *error)
{
  assert(shelf->changes);
  if (changed == NULL)
    return out_of_memory(error);
  eb_status status = eb_json_equal(changed, shelf->makers) ? EB_OK : write_file(shelf, changed, error);
  eb_json_destroy(status == EB_OK ? shelf->makers : changed);
  if (status == EB_OK)
    shelf->makers = changed;
  return status;
}

static int index_of(const eb_json *makers, const char *key)
{
  int index = 0;
  for (const eb_json *entry = eb_json_first(eb_json_get(makers, "makers")); entry != NULL;
       entry = eb_json_next(entry), index++)
    if (strcmp(eb_json_get_string(entry, "key", ""), key) == 0)
      return index;
  return -1;
}

const eb_json *makers_find(const eb_json *makers, const char *key)
{
  int index = index_of(makers, key);
  return index < 0 ? NULL : eb_json_at(eb_json_get(makers, "makers"), index);
}

eb_json *makers_entry(eb_json *makers, const char *key)
{
  int index = index_of(makers, key);
  return index < 0 ? NULL : eb_json_element(eb_json_member(makers, "makers"), index);
}

eb_json *makers_meet(eb_json *makers, const eb_maker *maker)
{
  if (makers == NULL)
    return NULL;
  if (index_of(makers, maker->key.text) < 0 && !eb_json_add(eb_json_member(makers, "makers"), maker_json_make(maker)))
    return NULL;
  return makers_entry(makers, maker->key.text);
}

bool makers_revoked(const eb_json *entry)
{
  return eb_json_get(entry, "revoked") != NULL;
}

const eb_json *makers_before(const eb_json *makers, const char *key)
{
  for (const eb_json *entry = eb_json_first(eb_json_get(makers, "makers")); entry != NULL; entry = eb_json_next(entry))
    if (strcmp(eb_json_get_string(entry, "to", ""), key) == 0)
      return entry;
  return NULL;
}

/* The first key of a row; a file that was changed by hand may go in a circle. */
static const char *first_of(const eb_json *makers, const char *key)
{
  for (int steps = 0; steps < EB_SHELF_MAKERS_MAX; steps++) {
    const eb_json *before = makers_before(makers, key);
    if (before == NULL)
      break;
    key = eb_json_get_string(before, "key", "");
  }
  return key;
}

bool makers_related(const eb_json *makers, const char *key, const char *other)
{
  return strcmp(first_of(makers, key), first_of(makers, other)) == 0;
}

bool makers_succeeds(const eb_json *makers, const char *key, const char *later)
{
  for (int steps = 0; steps < EB_SHELF_MAKERS_MAX; steps++) {
    key = eb_json_get_string(makers_find(makers, key), "to", NULL);
    if (key == NULL || strcmp(key, later) == 0)
      return key != NULL;
  }
  return false;
}

static const eb_json *seen_by(const eb_json *entry, const char *id)
{
  for (const eb_json *seen = eb_json_first(eb_json_get(entry, "seen")); seen != NULL; seen = eb_json_next(seen))
    if (strcmp(eb_json_get_string(seen, "id", ""), id) == 0)
      return seen;
  return NULL;
}

const eb_json *makers_seen(const eb_json *makers, const char *key, const char *id)
{
  const eb_json *highest = NULL;
  key = first_of(makers, key);
  for (int steps = 0; key != NULL && steps < EB_SHELF_MAKERS_MAX; steps++) {
    const eb_json *entry = makers_find(makers, key);
    const eb_json *seen = seen_by(entry, id);
    if (seen != NULL && eb_json_get_int(seen, "revision", 0) >= eb_json_get_int(highest, "revision", 0))
      highest = seen;
    key = eb_json_get_string(entry, "to", NULL);
  }
  return highest;
}

static eb_json *seen_entry(eb_json *entry, const char *id)
{
  if (eb_json_get(entry, "seen") == NULL && !eb_json_set(entry, "seen", eb_json_array()))
    return NULL;
  eb_json *list = eb_json_member(entry, "seen");
  int count = eb_json_count(list);
  for (int i = 0; i < count; i++)
    if (strcmp(eb_json_get_string(eb_json_at(list, i), "id", ""), id) == 0)
      return eb_json_element(list, i);
  eb_json *seen = eb_json_object();
  if (!eb_json_set_string(seen, "id", id)) {
    eb_json_destroy(seen);
    return NULL;
  }
  return eb_json_add(list, seen) ? eb_json_element(list, count) : NULL;
}

bool makers_see(eb_json *makers, const eb_bundle *bundle)
{
  const eb_manifest *m = &bundle->manifest;
  eb_maker maker = {.key = m->key};
  snprintf(maker.name, sizeof maker.name, "%s", m->maker);
  eb_json *entry = makers_meet(makers, &maker);
  eb_json *seen = entry == NULL ? NULL : seen_entry(entry, m->id);
  if (seen == NULL)
    return false;
  if (m->revision < eb_json_get_int(seen, "revision", 0))
    return true;
  return eb_json_set_number(seen, "revision", m->revision) && eb_json_set_string(seen, "version", m->version) &&
         eb_json_set_string(seen, "digest", bundle->digest);
}
