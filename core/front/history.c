/* The commands `history` and `compare`. */
#include "evenbore/history.h"

#include "data.h"
#include "run.h"
#include "sessions.h"
#include "shop_file.h"
#include "written.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int refuse(const eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return eb_run_status(error->status);
}

static bool is_about(const eb_session_entry *entry, const char *engine)
{
  return strcmp(entry->engine_file, engine) == 0 || strcmp(entry->engine, engine) == 0;
}

static bool is_unread(const eb_session_entry *entry)
{
  return strcmp(entry->state, "unreadable") == 0 || strcmp(entry->state, "newer") == 0;
}

/* Of one whose first record cannot be read nobody knows the engine. */
static const char *why_unread(const eb_session_entry *entry)
{
  if (strcmp(entry->state, "newer") == 0)
    return "a later version wrote it, so whether it is about this engine is not known";
  return "its beginning cannot be read, so whether it is about this engine is not known";
}

static const char *why_not(const eb_session_entry *entry)
{
  if (strcmp(entry->name, "practice") == 0 || strcmp(entry->engine, "(practice)") == 0)
    return "it is practice on a simulated engine";
  if (strcmp(entry->id, entry->name) != 0)
    return "its file does not bear its name, so it may come from another shop";
  return NULL;
}

static eb_status add_session(const eb_run *run, const char *folder, const eb_session_entry *entry, eb_history *history,
                             eb_error *error)
{
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_error met;
  const char *why = why_not(entry);
  if (why != NULL)
    return eb_history_leave_out(history, entry->id, why, error);
  eb_status status = eb_sessions_path(folder, entry->id, path, &met);
  if (status == EB_OK)
    status = eb_account_read(run->host, path, &account, &met);
  if (status != EB_OK)
    return eb_history_leave_out(history, entry->id, met.message, error);
  status = eb_history_add(history, entry->id, &account, error);
  eb_account_clear(&account);
  return status;
}

static eb_status add_sessions(const eb_run *run, const char *folder, const char *engine, const eb_session_list *list,
                              eb_history *history, eb_error *error)
{
  eb_status status = EB_OK;
  for (size_t i = 0; status == EB_OK && i < list->count; i++) {
    const eb_session_entry *entry = &list->entries[i];
    if (is_about(entry, engine))
      status = add_session(run, folder, entry, history, error);
    else if (is_unread(entry) || (strcmp(entry->state, "damaged") == 0 && entry->started[0] == '\0'))
      status = eb_history_leave_out(history, entry->id, why_unread(entry), error);
  }
  return status;
}

/* What a person may have meant: engines that are kept, and those that sessions name. */
static eb_status unknown(const eb_run *run, const char *engine, const eb_session_list *list, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  eb_shop_names names = {0};
  bool kept = eb_data_path(run->options.data, "engines", path, NULL) == EB_OK &&
              eb_shop_names_list(run->host, path, &names, NULL) == EB_OK;
  size_t count = 0, known = kept ? names.count : 0;
  const char **words = run->host->allocate(run->host->context, NULL, (known + 2 * list->count + 1) * sizeof *words);
  bool is_kept = false;
  for (size_t i = 0; words != NULL && i < known; i++) {
    is_kept = is_kept || strcmp(names.names[i], engine) == 0;
    words[count++] = names.names[i];
  }
  for (size_t i = 0; words != NULL && i < list->count; i++) {
    words[count++] = list->entries[i].engine;
    words[count++] = list->entries[i].engine_file;
  }
  const char *near = words == NULL ? NULL : eb_nearest(engine, words, count);
  eb_text safe;
  eb_text_init(&safe, run->host);
  eb_text_add_safe(&safe, engine, strnlen(engine, 60), false);
  if (is_kept)
    eb_fail(error, EB_NOT_FOUND, engine,
            "no session is about this engine yet; begin one with evenbore tune --engine %s", engine);
  else if (near != NULL && near[0] != '\0')
    eb_fail(error, EB_NOT_FOUND, eb_text_string(&safe), "no such engine, and no session about one; did you mean %.80s?",
            near);
  else
    eb_fail(error, EB_NOT_FOUND, eb_text_string(&safe),
            "no such engine, and no session about one; evenbore engines and evenbore sessions list them");
  eb_text_clear(&safe);
  run->host->allocate(run->host->context, words, 0);
  if (kept)
    eb_shop_names_clear(&names);
  return EB_NOT_FOUND;
}

/* The name alone of an engine that is given by its path. */
static const char *engine_of(const char *typed)
{
  const char *slash = eb_data_is_path(typed) ? strrchr(typed, '/') : NULL;
  return slash == NULL ? typed : slash + 1;
}

static eb_status gather(const eb_run *run, const char *engine, eb_history *history, eb_error *error)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_session_list list;
  eb_status status = eb_sessions_folder(run->options.data, folder, error);
  if (status == EB_OK)
    status = eb_sessions_list(run->host, folder, EB_LOOK_ENDS, &list, error);
  if (status != EB_OK)
    return status;
  bool any = false;
  for (size_t i = 0; !any && i < list.count; i++)
    any = is_about(&list.entries[i], engine);
  status = any && engine[0] != '\0' ? add_sessions(run, folder, engine, &list, history, error)
                                    : unknown(run, engine, &list, error);
  eb_sessions_clear(&list);
  return status;
}

int eb_run_history(const eb_run *run)
{
  eb_report_options options;
  eb_history *history = NULL;
  eb_text text;
  eb_error error;
  const char *engine = engine_of(run->options.argument);
  int exit_status = EB_EXIT_FAILED;
  eb_text_init(&text, run->host);
  eb_status status = eb_written_options(run, &options, &error);
  if (status == EB_OK)
    status = eb_history_create(run->host, engine, &history, &error);
  if (status == EB_OK)
    status = gather(run, engine, history, &error);
  if (status == EB_OK)
    status = eb_history_write(history, &options, &text, &error);
  exit_status = status == EB_OK ? eb_written_out(run, &text) : refuse(run, &error);
  eb_text_clear(&text);
  eb_history_destroy(history);
  return exit_status;
}

static eb_status read_named(const eb_run *run, const char *folder, const char *name, char path[EB_SESSION_PATH_SIZE],
                            eb_account *account, eb_error *error)
{
  eb_status status = eb_sessions_find(run->host, folder, name, path, error);
  return status == EB_OK ? eb_account_read(run->host, path, account, error) : status;
}

/* A session is called by its file. */
static const char *name_of(char path[EB_SESSION_PATH_SIZE])
{
  char *slash = strrchr(path, '/');
  char *name = slash == NULL ? path : slash + 1;
  size_t size = strlen(name);
  if (size > 6 && strcmp(name + size - 6, ".jsonl") == 0)
    name[size - 6] = '\0';
  return name;
}

static int compare(const eb_run *run, const eb_report_options *options, const char *first,
                   const eb_account *first_account, const char *second, const eb_account *second_account)
{
  eb_text text;
  eb_error error;
  eb_text_init(&text, run->host);
  int exit_status = EB_EXIT_FAILED;
  if (eb_compare_write(first, first_account, second, second_account, options, &text, &error) == EB_OK)
    exit_status = eb_written_out(run, &text);
  else
    eb_run_complain(run, &error);
  eb_text_clear(&text);
  return exit_status;
}

int eb_run_compare(const eb_run *run)
{
  char folder[EB_SESSION_PATH_SIZE], first[EB_SESSION_PATH_SIZE], second[EB_SESSION_PATH_SIZE];
  eb_report_options options;
  eb_account first_account, second_account;
  eb_error error;
  eb_status status = eb_written_options(run, &options, &error);
  if (status == EB_OK)
    status = eb_sessions_folder(run->options.data, folder, &error);
  if (status == EB_OK)
    status = read_named(run, folder, run->options.argument, first, &first_account, &error);
  if (status != EB_OK)
    return refuse(run, &error);
  status = read_named(run, folder, run->options.values[0], second, &second_account, &error);
  if (status != EB_OK) {
    eb_account_clear(&first_account);
    return refuse(run, &error);
  }
  int exit_status = compare(run, &options, name_of(first), &first_account, name_of(second), &second_account);
  eb_account_clear(&first_account);
  eb_account_clear(&second_account);
  return exit_status;
}
