/* The commands on a shop's own files: engines, gauges and habits. */
#include "data.h"
#include "given.h"
#include "run.h"
#include "shop_file.h"

#include "evenbore/shop.h"

#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 1200 };

/* Which of the shop's files a command is about. */
typedef struct shelf {
  const eb_format *format;
  const char *kind, *folder; /* "engine", "engines" */
} shelf;

static const shelf engines = {&eb_format_engine, "engine", "engines"};
static const shelf gauges = {&eb_format_gauge, "gauge", "gauges"};

static int refuse(const eb_run *run, const eb_error *error, int exit_status)
{
  eb_run_complain(run, error);
  return exit_status;
}

static void say_entry(const eb_run *run, eb_page *page, const shelf *on, const char *folder, const char *name)
{
  char path[EB_DATA_PATH_SIZE + EB_SHOP_NAME_SIZE];
  char line[LINE_SIZE];
  eb_json *file = NULL;
  eb_error error;
  snprintf(path, sizeof path, "%s/%s.json", folder, name);
  if (eb_given_file(run, on->format, path, &file, &error) != EB_OK)
    snprintf(line, sizeof line, "%s  cannot be used: %s: %s", name, error.place, error.message);
  else
    snprintf(line, sizeof line, "%s  %s%s%s", name, eb_json_get_string(file, "name", ""),
             eb_json_get(file, "procedure") == NULL ? "" : ", ", eb_json_get_string(file, "procedure", ""));
  eb_page_paragraph(page, EB_PLAIN, "", "  ", line);
  eb_json_destroy(file);
}

static int run_list(const eb_run *run, const shelf *on)
{
  char folder[EB_DATA_PATH_SIZE];
  eb_shop_names names;
  eb_error error;
  eb_status status = eb_data_path(run->options.data, on->folder, folder, &error);
  if (status == EB_OK)
    status = eb_shop_names_list(run->host, folder, &names, &error);
  if (status != EB_OK)
    return refuse(run, &error, eb_run_status(status));
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < names.count; i++)
    say_entry(run, &page, on, folder, names.names[i]);
  if (names.count == 0)
    eb_page_sayf(&page,
                 "No %s yet. Make one with: evenbore %s NAME KEY=VALUE... (evenbore help %s says what there is).",
                 on->folder, on->kind, on->kind);
  eb_shop_names_clear(&names);
  return eb_run_print(run, &page);
}

static int show(const eb_run *run, const eb_format *format, const char *path, const eb_json *file)
{
  eb_page page;
  eb_habits habits = {0};
  eb_error error;
  eb_status status = eb_given_habits(run, &habits, &error);
  if (status != EB_OK)
    return refuse(run, &error, EB_EXIT_FAILED);
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_paragraph(&page, EB_STRONG, "", "  ", path);
  eb_fields_show(&page, format, file, &habits);
  return eb_run_print(run, &page);
}

/* A new file is called by what it lies under, until it is given a name; a new gauge shows what the shop's do. */
static eb_json *new_file(const eb_run *run, const eb_format *format, const char *typed)
{
  char name[61];
  eb_habits habits = {0};
  const char *slash = strrchr(typed, '/');
  snprintf(name, sizeof name, "%.60s", slash == NULL ? typed : slash + 1);
  size_t size = strlen(name);
  if (size > 5 && strcmp(name + size - 5, ".json") == 0)
    name[size - 5] = '\0';
  eb_json *file = eb_fields_new(format);
  bool made = format == &eb_format_habits || eb_json_set_string(file, "name", name);
  if (made && format == &eb_format_gauge && eb_given_habits(run, &habits, NULL) == EB_OK &&
      habits.unit[EB_FLOW][0] != '\0')
    made = eb_json_set_string(file, "unit", habits.unit[EB_FLOW]);
  if (made)
    return file;
  eb_json_destroy(file);
  return NULL;
}

/* The file with what was typed in it.  *usage: what is wrong is on the command line. */
static eb_status change(const eb_run *run, const eb_format *format, const char *path, const char *typed, eb_json **file,
                        bool *usage, eb_error *error)
{
  eb_looked_at at = {.name = path};
  eb_status status = eb_given_file(run, format, path, file, error);
  if (status == EB_NOT_FOUND) {
    *file = new_file(run, format, typed);
    status = *file == NULL ? eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory") : EB_OK;
  }
  *usage = status == EB_OK;
  for (int i = 0; status == EB_OK && i < run->options.value_count; i++)
    status = eb_fields_type(format, *file, run->options.values[i], error);
  if (status == EB_OK)
    status = eb_format_check(format, &at, *file, error);
  return status;
}

static int edit(const eb_run *run, const eb_format *format, const char *path, const char *typed)
{
  eb_error error;
  eb_json *file = NULL;
  int held = -1;
  bool usage = false;
  eb_status status = eb_shop_file_hold(run->host, path, &held, &error);
  if (status != EB_OK)
    return refuse(run, &error, EB_EXIT_FAILED);
  status = change(run, format, path, typed, &file, &usage, &error);
  if (status == EB_OK) {
    usage = false;
    status = eb_shop_file_write(run->host, path, file, &error);
  }
  eb_shop_file_release(run->host, held);
  int exit_status =
      status == EB_OK ? show(run, format, path, file) : refuse(run, &error, usage ? EB_EXIT_USAGE : EB_EXIT_FAILED);
  eb_json_destroy(file);
  return exit_status;
}

static int run_one(const eb_run *run, const shelf *on)
{
  char path[EB_DATA_PATH_SIZE];
  eb_error error;
  eb_json *file = NULL;
  int exit_status = EB_EXIT_FAILED;
  if (run->options.value_count == 0) {
    if (eb_given_named(run, on->format, on->kind, on->folder, run->options.argument, path, &file, &exit_status,
                       &error) != EB_OK)
      return refuse(run, &error, exit_status);
    exit_status = show(run, on->format, path, file);
    eb_json_destroy(file);
    return exit_status;
  }
  eb_status status = eb_data_file(run->options.data, on->kind, on->folder, run->options.argument, path, &error);
  if (status != EB_OK)
    return refuse(run, &error, eb_run_status(status));
  return edit(run, on->format, path, run->options.argument);
}

int eb_run_engines(const eb_run *run)
{
  return run_list(run, &engines);
}

int eb_run_gauges(const eb_run *run)
{
  return run_list(run, &gauges);
}

int eb_run_engine(const eb_run *run)
{
  return run_one(run, &engines);
}

int eb_run_gauge(const eb_run *run)
{
  return run_one(run, &gauges);
}

int eb_run_habits(const eb_run *run)
{
  char path[EB_DATA_PATH_SIZE];
  eb_error error;
  eb_json *file = NULL;
  eb_status status = eb_data_path(run->options.data, "habits.json", path, &error);
  if (status != EB_OK)
    return refuse(run, &error, eb_run_status(status));
  if (run->options.value_count > 0)
    return edit(run, &eb_format_habits, path, "habits");
  status = eb_given_file(run, &eb_format_habits, path, &file, &error);
  if (status != EB_OK && status != EB_NOT_FOUND)
    return refuse(run, &error, EB_EXIT_FAILED);
  int exit_status = EB_EXIT_DONE;
  if (eb_json_count(file) > 2) {
    exit_status = show(run, &eb_format_habits, path, file);
  } else {
    eb_page page;
    eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
    eb_page_say(&page, "No habits: numbers are shown and asked in the units that a procedure asks for. Set some with, "
                       "for example: evenbore habits temperature=F length=thou");
    exit_status = eb_run_print(run, &page);
  }
  eb_json_destroy(file);
  return exit_status;
}
