/* The lists: sessions, and procedures, built in and on the shelf. */
#include "load.h"
#include "run.h"
#include "sessions.h"
#include "shop_shelf.h"

#include "evenbore/format.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 1200 };

static void say_session(eb_page *page, size_t number, const eb_session_entry *entry)
{
  char started[EB_FORMAT_SIZE];
  char changed[EB_FORMAT_SIZE];
  char line[600];
  char first[24];
  snprintf(first, sizeof first, "%3zu  ", number);
  snprintf(line, sizeof line, "%s  %s", entry->id, entry->state);
  eb_page_paragraph(page, EB_STRONG, first, "     ", line);
  if (entry->started[0] == '\0')
    return;
  eb_format_date(entry->started, started);
  eb_format_date(entry->changed, changed);
  bool same_day = strncmp(started, changed, 10) == 0;
  snprintf(line, sizeof line, "%s%s%s, begun %s, last change %s", entry->engine, entry->engine[0] == '\0' ? "" : ", ",
           entry->procedure, started, same_day && strlen(changed) > 11 ? changed + 11 : changed);
  eb_page_paragraph(page, EB_PLAIN, "     ", "     ", line);
}

int eb_run_sessions(const eb_run *run)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_session_list list;
  eb_error error;
  eb_status status = eb_sessions_folder(run->options.data, folder, &error);
  if (status == EB_OK)
    status = eb_sessions_list(run->host, folder, run->options.whole ? EB_LOOK_WHOLE : EB_LOOK_QUICK, &list, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < list.count; i++)
    say_session(&page, i + 1, &list.entries[i]);
  if (!list.whole)
    eb_page_say(&page, "So many that only the beginning and the end of each was looked at; evenbore sessions --whole "
                       "reads all of each, and finds damage in the middle too.");
  if (list.count == 0)
    eb_page_say(&page, "No sessions yet. Begin one with: evenbore tune PROCEDURE (evenbore procedures lists them).");
  eb_sessions_clear(&list);
  return eb_run_print(run, &page);
}

/* The title is what the procedure itself declares, so it is run that far. */
static eb_status say_procedure(const eb_run *run, eb_page *page, const eb_source *source, eb_error *error)
{
  size_t count;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_json *declare = NULL;
  eb_status status = eb_load_declare(run->host, &run->runner, source, library, count, &declare, error);
  if (status != EB_OK)
    return status;
  const eb_json *procedure = eb_json_get(declare, "procedure");
  char id[64];
  snprintf(id, sizeof id, "%s", eb_json_get_string(procedure, "id", "?"));
  eb_page_cell(page, EB_STRONG, id, (int)strlen(id) > 14 ? (int)strlen(id) : 14);
  eb_page_put(page, EB_PLAIN, "  ");
  eb_page_cell(page, EB_PLAIN, eb_json_get_string(procedure, "title", "?"), page->columns - page->column);
  eb_page_end(page);
  eb_json_destroy(declare);
  return EB_OK;
}

typedef struct shelf_list {
  const eb_shelf *shelf;
  eb_page *page;
  bool all_good;
} shelf_list;

static void say_refused(shelf_list *list, const char *path, const eb_error *why)
{
  char line[LINE_SIZE];
  const char *slash = strrchr(path, '/');
  snprintf(line, sizeof line, "%s  cannot be used (%s): %s", slash == NULL ? path : slash + 1,
           eb_status_word(why->status), why->message);
  eb_page_paragraph(list->page, EB_PLAIN, "", "  ", line);
  list->all_good = false;
}

/* What is on the shelf is not run to be listed: all of it stands in its manifest. */
static bool say_bundle(void *context, const char *path, const eb_bundle *bundle, const eb_error *why)
{
  shelf_list *list = context;
  eb_known_maker known;
  char line[LINE_SIZE];
  if (bundle == NULL) {
    say_refused(list, path, why);
    return true;
  }
  const eb_manifest *m = &bundle->manifest;
  eb_shelf_know(list->shelf, &m->key, &known);
  snprintf(line, sizeof line, "%s@%s  %s", m->id, m->version, m->title);
  eb_page_paragraph(list->page, EB_STRONG, "", "  ", line);
  snprintf(line, sizeof line, "by %s (%s), revision %d, bundle %.16s", m->maker, eb_standing_word(known.standing),
           m->revision, bundle->digest);
  eb_page_paragraph(list->page, EB_PLAIN, "  ", "    ", line);
  return true;
}

static bool say_shelf(const eb_run *run, eb_page *page)
{
  eb_shop_shelf shop;
  eb_error error;
  shelf_list list = {.page = page, .all_good = true};
  eb_status status = eb_shop_shelf_open(run->host, run->options.data, false, &shop, &error);
  list.shelf = shop.shelf;
  if (status == EB_OK)
    status = eb_shelf_list(shop.shelf, say_bundle, &list, &error);
  eb_shop_shelf_close(&shop);
  if (status != EB_OK)
    eb_run_complain(run, &error);
  return status == EB_OK && list.all_good;
}

int eb_run_procedures(const eb_run *run)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  eb_page page;
  eb_error error;
  bool all_good = true;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < count; i++)
    if (say_procedure(run, &page, &sources[i], &error) != EB_OK) {
      eb_run_complain(run, &error);
      all_good = false;
    }
  all_good = say_shelf(run, &page) && all_good;
  int printed = eb_run_print(run, &page);
  return all_good ? printed : EB_EXIT_FAILED;
}
