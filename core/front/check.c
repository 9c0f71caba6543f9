/* The command `check`: procedures looked through for mistakes and for sense, before an engine sees them. */
#include "check.h"

#include "chart.h"

#include "evenbore/script.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* "NAME:LINE" apart; the procedure's own name is told as it was given, a library file's beside it. */
static void set_place(const eb_check *c, const char *place, eb_check_finding *f)
{
  const char *name = c->loaded.source.name == NULL ? "" : c->loaded.source.name;
  const char *colon = strrchr(place, ':'), *slash = strrchr(c->path, '/');
  size_t size =
      colon == NULL || strspn(colon + 1, "0123456789") != strlen(colon + 1) ? strlen(place) : (size_t)(colon - place);
  f->line = place[size] == ':' ? (unsigned)strtoul(place + size + 1, NULL, 10) : 0;
  if (size == 0 || (strlen(name) == size && memcmp(name, place, size) == 0))
    snprintf(f->file, sizeof f->file, "%s", c->path);
  else if (strncmp(place, "./", 2) == 0 && slash != NULL)
    snprintf(f->file, sizeof f->file, "%.*s/%.*s", (int)(slash - c->path), c->path, (int)size - 2, place + 2);
  else
    snprintf(f->file, sizeof f->file, "%.*s", (int)size, place);
}

/* Where there is no room, what is wrong goes before what is only to be looked at. */
static void keep(eb_check *c, const eb_check_finding *f)
{
  if (c->count < EB_CHECK_FINDINGS) {
    c->finding[c->count++] = *f;
    return;
  }
  c->more = true;
  for (int i = c->count - 1; f->error && i >= 0; i--)
    if (!c->finding[i].error) {
      c->finding[i] = *f;
      return;
    }
}

void eb_check_add(eb_check *c, bool error, const char *place, const char *format, ...)
{
  eb_check_finding made = {.error = error};
  va_list arguments;
  set_place(c, place, &made);
  va_start(arguments, format);
  vsnprintf(made.text, sizeof made.text, format, arguments);
  va_end(arguments);
  for (int i = 0; i < c->count; i++) {
    const eb_check_finding *f = &c->finding[i];
    size_t head = strcspn(made.text, ";("); /* the same at another engine may end otherwise */
    if (f->line == made.line && strcmp(f->file, made.file) == 0 && strncmp(f->text, made.text, head) == 0)
      return;
  }
  keep(c, &made);
}

static int in_order(const void *a, const void *b)
{
  const eb_check_finding *x = a, *y = b;
  int order = strcmp(x->file, y->file);
  if (order != 0)
    return order;
  if (x->line != y->line)
    return x->line < y->line ? -1 : 1;
  if (x->error != y->error)
    return x->error ? -1 : 1;
  return strcmp(x->text, y->text);
}

int eb_check_errors(const eb_check *c)
{
  int errors = 0;
  for (int i = 0; i < c->count; i++)
    errors += c->finding[i].error;
  return errors;
}

/* A file with a built-in one's name is never read: the built-in one goes before it. */
static void find_hidden_library(eb_check *c)
{
  const char *slash = strrchr(c->path, '/');
  const eb_host *host = c->run->host;
  char name[50];
  for (size_t at = 0; c->loaded.text != NULL && eb_load_next_required(&c->loaded.source, &at, name, sizeof name);) {
    char file[1024], builtin[64];
    snprintf(file, sizeof file, "%.*slib/%s.lua", slash == NULL ? 0 : (int)(slash + 1 - c->path), c->path, name);
    snprintf(builtin, sizeof builtin, "lib/%s.lua", name);
    for (size_t i = 0; i < c->loaded.builtin_count; i++)
      if (strcmp(c->loaded.library[i].name, builtin) == 0 && host->files.kind(host->context, file) == EB_PATH_FILE)
        eb_check_add(c, false, "", "%s beside it is not read: the program has a file of that name; give yours another",
                     builtin);
  }
}

/* False where the machine, not the procedure, fails. */
static bool look_through(eb_check *c, eb_error *error)
{
  eb_status status = eb_load(c->run->host, c->run->options.data, c->path, &c->loaded, error);
  if (status != EB_OK) {
    eb_check_add(c, true, "", "%s", error->message);
    return status != EB_OUT_OF_MEMORY;
  }
  find_hidden_library(c);
  eb_check_source(c, &c->loaded.source);
  for (size_t i = c->loaded.builtin_count; i < c->loaded.library_count; i++)
    eb_check_source(c, &c->loaded.library[i]);
  status = eb_load_declare(c->run->host, &c->run->runner, &c->loaded.source, c->loaded.library, c->loaded.library_count,
                           &c->declare, error);
  if (status == EB_OUT_OF_MEMORY || status == EB_IO || status == EB_REFUSED)
    return false;
  if (status != EB_OK)
    eb_check_add(c, true, error->place, "%s", error->message);
  else
    status = eb_check_play(c, error);
  return status != EB_OUT_OF_MEMORY && status != EB_IO;
}

bool eb_check_look(eb_check *c, eb_error *error)
{
  bool done = look_through(c, error);
  if (done)
    qsort(c->finding, (size_t)c->count, sizeof c->finding[0], in_order);
  return done;
}

static void say_share(eb_page *page, const char *what, double used, double most)
{
  eb_page_sayf(page, "  %-32s %9.0f of %9.0f, %4.1f %%", what, used, most, 100 * used / most);
}

static void say_budget(eb_page *page, const eb_check *c)
{
  eb_script_limits limits = eb_script_limits_usual();
  eb_page_say(page, "Used at most, on all engines played:");
  say_share(page, "steps between two answers", c->use.instructions, (double)limits.instructions);
  say_share(page, "memory, bytes", c->use.memory, (double)limits.memory);
  say_share(page, "prompts of one job", c->use.prompts, 2000);
  say_share(page, "text of one prompt, characters", c->use.text, 2000);
  say_share(page, "one request, bytes", c->use.request, EB_PROCEDURE_REQUEST_MAX);
  eb_page_blank(page);
}

void eb_check_say(eb_page *page, const eb_check *c)
{
  const eb_json *procedure = eb_json_get(c->declare, "procedure");
  int errors = eb_check_errors(c);
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "  ", c->path);
  if (procedure != NULL)
    eb_page_sayf(page, "%.120s (%.40s %.40s)", eb_json_get_string(procedure, "title", "?"),
                 eb_json_get_string(procedure, "id", "?"), eb_json_get_string(procedure, "version", "?"));
  if (c->shown != NULL)
    eb_chart_parts(page, c->shown);
  if (c->engines > 0)
    eb_page_sayf(page, "Played on %d simulated engines%s.", c->engines,
                 c->ways > 1 ? ", its options answered in every way" : "");
  if (c->run->options.budget && c->engines > 0)
    say_budget(page, c);
  for (int i = 0; i < c->count; i++) {
    char line[sizeof c->finding[0] + 40];
    const eb_check_finding *f = &c->finding[i];
    if (f->line > 0)
      snprintf(line, sizeof line, "%s:%u: %s: %s", f->file, f->line, f->error ? "wrong" : "look", f->text);
    else
      snprintf(line, sizeof line, "%s: %s: %s", f->file, f->error ? "wrong" : "look", f->text);
    eb_page_paragraph(page, f->error ? EB_ALARM : EB_PLAIN, "", "  ", line);
  }
  if (c->more)
    eb_page_say(page, "There is more, for which there is no room here: mend these first.");
  eb_page_sayf(page, "%d wrong, %d to look at.", errors, c->count - errors);
}

static eb_json *use_json(const eb_check *c)
{
  eb_script_limits limits = eb_script_limits_usual();
  eb_json *made = eb_json_object();
  bool ok = eb_json_set_number(made, "instructions", c->use.instructions / (double)limits.instructions) &&
            eb_json_set_number(made, "memory", c->use.memory / (double)limits.memory) &&
            eb_json_set_number(made, "prompts", c->use.prompts / 2000);
  if (ok)
    return made;
  eb_json_destroy(made);
  return NULL;
}

/* A file's name may be any bytes, JSON is UTF-8: what is none is written as \xNN. */
static bool set_path(const eb_host *host, eb_json *made, const char *path)
{
  eb_text safe;
  eb_text_init(&safe, host);
  eb_text_add_safe(&safe, path, strlen(path), false);
  bool set = !safe.failed && eb_json_set_string(made, "file", eb_text_string(&safe));
  eb_text_clear(&safe);
  return set;
}

static eb_json *finding_json(const eb_host *host, const eb_check_finding *f)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, "severity", f->error ? "error" : "warning") && set_path(host, made, f->file) &&
      eb_json_set_number(made, "line", f->line) && eb_json_set_string(made, "text", f->text))
    return made;
  eb_json_destroy(made);
  return NULL;
}

static bool add_json(eb_json *files, const eb_check *c)
{
  eb_json *one = eb_json_object(), *findings = eb_json_array();
  bool ok = one != NULL && findings != NULL;
  for (int i = 0; ok && i < c->count; i++)
    ok = eb_json_add(findings, finding_json(c->run->host, &c->finding[i]));
  ok = set_path(c->run->host, one, c->path) && eb_json_set_number(one, "engines", c->engines) && ok;
  if (c->more)
    ok = eb_json_set_bool(one, "more", true) && ok;
  ok = eb_json_set(one, "findings", findings) && ok;
  if (c->run->options.budget)
    ok = eb_json_set(one, "budget", use_json(c)) && ok;
  return eb_json_add(files, one) && ok;
}

void eb_check_clear(eb_check *c)
{
  if (c->loaded.host != NULL)
    eb_load_clear(&c->loaded);
  eb_json_destroy(c->declare);
  eb_json_destroy(c->layout);
  eb_json_destroy(c->shown);
}

static int print_json(const eb_run *run, eb_json *files)
{
  eb_json *all = eb_json_object();
  if (!eb_json_set(all, "files", files)) {
    eb_json_destroy(all);
    all = NULL;
  }
  return eb_run_print_json(run, all);
}

/* One file; false where checking itself failed. *bad is set where the exit status is to tell of it. */
static bool check_one(eb_check *c, eb_page *page, eb_json *files, bool *bad)
{
  eb_error error = {.status = EB_OK};
  bool done = eb_check_look(c, &error);
  if (!done)
    eb_run_complain(c->run, &error);
  else {
    *bad = *bad || eb_check_errors(c) > 0 || (c->run->options.strict && c->count > 0);
    if (c->run->options.json)
      done = add_json(files, c);
    else
      eb_check_say(page, c);
  }
  eb_check_clear(c);
  return done;
}

int eb_run_check(const eb_run *run)
{
  const eb_host *host = run->host;
  eb_check *c = host->allocate(host->context, NULL, sizeof *c);
  eb_json *files = eb_json_array();
  bool bad = false, done = c != NULL && files != NULL;
  eb_page page;
  eb_page_init(&page, host, run->columns, run->utf8, run->styled);
  if (!done)
    eb_run_remark(run, "out of memory");
  for (int i = 0; done && i < run->options.value_count; i++) {
    memset(c, 0, sizeof *c);
    c->run = run;
    c->path = run->options.values[i];
    done = check_one(c, &page, files, &bad);
  }
  host->allocate(host->context, c, 0);
  int printed = EB_EXIT_FAILED;
  if (done && run->options.json)
    printed = print_json(run, files);
  else
    eb_json_destroy(files);
  if (done && !run->options.json)
    printed = eb_run_print(run, &page);
  else
    eb_page_clear(&page);
  return printed != EB_EXIT_DONE || bad ? EB_EXIT_FAILED : EB_EXIT_DONE;
}
