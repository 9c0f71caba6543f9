/* A folder on a stick or a share: what lies there, file by file, each taken as hostile. */
#include "makers.h"

#include "evenbore/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_MAX_BYTES = 120 };

typedef struct scan {
  const eb_shelf *shelf;
  eb_found_list list;
  size_t room;
  bool failed;
} scan;

static bool ends_right(const char *name)
{
  size_t size = strlen(name), end = sizeof EB_BUNDLE_ENDING - 1;
  return size >= end && strcmp(name + size - end, EB_BUNDLE_ENDING) == 0;
}

/* Non-zero ends the walk. */
static int take_name(void *argument, const char *name)
{
  scan *s = argument;
  const eb_host *host = s->shelf->host;
  if (!ends_right(name)) {
    s->list.others++;
    return 0;
  }
  if (s->list.count == EB_SHELF_FOUND_MAX) {
    s->list.cut = true;
    return -1;
  }
  if (s->list.count == s->room) {
    size_t room = s->room == 0 ? 16 : s->room * 2;
    eb_found *grown = host->allocate(host->context, s->list.found, room * sizeof *grown);
    if (grown == NULL) {
      s->failed = true;
      return -1;
    }
    s->list.found = grown;
    s->room = room;
  }
  eb_found *found = &s->list.found[s->list.count++];
  *found = (eb_found){.is_bundle = false};
  snprintf(found->name, sizeof found->name, "%s", name);
  return 0;
}

static int by_name(const void *a, const void *b)
{
  return strcmp(((const eb_found *)a)->name, ((const eb_found *)b)->name);
}

static eb_status check_name(const char *name, eb_error *error)
{
  size_t size = strlen(name);
  if (size > NAME_MAX_BYTES)
    return eb_fail(error, EB_BAD_TEXT, "", "the name is longer than %d bytes", (int)NAME_MAX_BYTES);
  if (name[0] == '.')
    return eb_fail(error, EB_BAD_TEXT, "", "the name begins with a point, which hides a file");
  for (size_t at = 0, step; at < size; at += step) {
    uint32_t c = 0;
    step = eb_utf8_decode(name + at, size - at, &c);
    if (step == 0)
      return eb_fail(error, EB_BAD_TEXT, "", "the name is not UTF-8");
    if (eb_char_unprintable(c))
      return eb_fail(error, EB_BAD_TEXT, "", "the name holds a character that cannot be shown");
  }
  return EB_OK;
}

static void look_at_bundle(const eb_shelf *shelf, const char *text, size_t size, eb_found *found)
{
  eb_bundle bundle;
  eb_known_maker known;
  if (eb_bundle_read(shelf->host, found->name, text, size, &bundle, &found->why) != EB_OK)
    return;
  const eb_manifest *m = &bundle.manifest;
  found->is_bundle = true;
  found->revision = m->revision;
  found->maker.key = m->key;
  snprintf(found->maker.name, sizeof found->maker.name, "%s", m->maker);
  snprintf(found->id, sizeof found->id, "%s", m->id);
  snprintf(found->version, sizeof found->version, "%s", m->version);
  snprintf(found->title, sizeof found->title, "%s", m->title);
  eb_shelf_know(shelf, &m->key, &known);
  found->standing = known.standing;
  eb_shelf_check(shelf, &bundle, &found->there, &found->why);
  eb_bundle_clear(&bundle);
}

static void look_at_statement(const eb_shelf *shelf, const char *text, size_t size, eb_found *found)
{
  eb_statement statement;
  eb_known_maker known;
  if (eb_statement_read(shelf->host, found->name, text, size, &statement, &found->why) != EB_OK)
    return;
  found->is_statement = true;
  found->kind = statement.kind;
  found->maker = statement.maker;
  eb_shelf_know(shelf, &statement.maker.key, &known);
  found->standing = known.standing;
  eb_shelf_check_statement(shelf, &statement, &found->there, &found->why);
}

static void look_at(const eb_shelf *shelf, const char *folder, eb_found *found)
{
  char path[EB_PATH_SIZE];
  char *text = NULL;
  size_t size = 0;
  eb_error_clear(&found->why);
  if (check_name(found->name, &found->why) != EB_OK || eb_path_join(folder, found->name, path, &found->why) != EB_OK ||
      eb_file_read(shelf->host, path, EB_BUNDLE_MAX, EB_FILE_FOUND, &text, &size, &found->why) != EB_OK)
    return;
  if (eb_statement_is(text, size))
    look_at_statement(shelf, text, size, found);
  else
    look_at_bundle(shelf, text, size, found);
  shelf->host->allocate(shelf->host->context, text, 0);
}

/* Neither of two is better than the other. */
static void refuse_lookalikes(eb_found_list *list)
{
  for (size_t i = 0; i < list->count; i++)
    for (size_t k = 0; k < list->count; k++) {
      eb_found *one = &list->found[i];
      const eb_found *other = &list->found[k];
      if (one->is_bundle && other->is_bundle && one->why.status == EB_OK && eb_ids_look_alike(one->id, other->id))
        eb_fail(&one->why, EB_LOOKALIKE, one->id, "this id looks like %s, which lies in the same folder", other->id);
    }
}

static eb_status look_at_all(scan *s, const char *folder, eb_error *error)
{
  eb_found_list *list = &s->list;
  if (list->count > 1)
    qsort(list->found, list->count, sizeof *list->found, by_name);
  for (size_t i = 0; i < list->count; i++) {
    look_at(s->shelf, folder, &list->found[i]);
    if (list->found[i].why.status == EB_OUT_OF_MEMORY)
      return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  }
  refuse_lookalikes(list);
  return EB_OK;
}

eb_status eb_shelf_scan(const eb_shelf *shelf, const char *folder, eb_found_list *list, eb_error *error)
{
  const eb_host *host = shelf->host;
  scan s = {.shelf = shelf, .list = {.host = host}};
  eb_path_kind kind = host->files.kind(host->context, folder);
  if (kind == EB_PATH_NOTHING)
    return eb_fail(error, EB_NOT_FOUND, folder, "no such folder");
  if (kind != EB_PATH_FOLDER)
    return eb_fail(error, EB_BAD_VALUE, folder, "this is no folder; evenbore inspect looks at one file");
  eb_status status = EB_OK;
  if (host->files.list(host->context, folder, take_name, &s) != 0 && !s.list.cut && !s.failed)
    status = eb_fail(error, EB_IO, folder, "this folder cannot be read (%s)", strerror(errno));
  if (s.failed)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (status == EB_OK)
    status = look_at_all(&s, folder, error);
  if (status == EB_OK)
    *list = s.list;
  else
    eb_found_list_clear(&s.list);
  return status;
}

void eb_found_list_clear(eb_found_list *list)
{
  list->host->allocate(list->host->context, list->found, 0);
  *list = (eb_found_list){.host = list->host};
}
