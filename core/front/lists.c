/* The lists: sessions and procedures. */
#include "load.h"
#include "run.h"
#include "sessions.h"

#include "evenbore/format.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

static void say_session(eb_page *page, size_t number, const eb_session_entry *entry)
{
  char started[EB_FORMAT_SIZE];
  char changed[EB_FORMAT_SIZE];
  char line[400];
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
    status = eb_sessions_list(run->host, folder, &list, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < list.count; i++)
    say_session(&page, i + 1, &list.entries[i]);
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

int eb_run_procedures(const eb_run *run)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  eb_page page;
  eb_error error;
  int exit_status = EB_EXIT_DONE;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < count; i++)
    if (say_procedure(run, &page, &sources[i], &error) != EB_OK) {
      eb_run_complain(run, &error);
      exit_status = EB_EXIT_FAILED;
    }
  int printed = eb_run_print(run, &page);
  return exit_status == EB_EXIT_DONE ? printed : exit_status;
}
