/* The command `new`: a procedure from rows and what joins them, and what an editor needs beside it. */
#include "drawing.h"
#include "load.h"
#include "run.h"

#include "evenbore/api.h"
#include "evenbore/file.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 1024, TITLE_SIZE = 121 };

typedef struct making {
  const eb_run *run;
  eb_drawing drawing;
  char id[EB_ID_SIZE], title[TITLE_SIZE];
  const char *numbering; /* NULL: bores were named */
  char rows[LINE_SIZE], parts[LINE_SIZE], scheme[LINE_SIZE];
} making;

/* my-v8 of ./shop/my-v8.lua. */
static eb_status read_name(making *m, const char *path, eb_error *error)
{
  const char *slash = strrchr(path, '/'), *base = slash == NULL ? path : slash + 1;
  size_t size = strlen(base);
  if (size <= 4 || strcmp(base + size - 4, ".lua") != 0)
    return eb_fail(error, EB_BAD_VALUE, path, "a procedure's file ends in .lua; write %.60s.lua", path);
  size -= 4;
  if (size >= EB_ID_SIZE || strspn(base, "abcdefghijklmnopqrstuvwxyz0123456789-") < size)
    return eb_fail(error, EB_BAD_VALUE, path,
                   "the file's name becomes the procedure's id: small letters, digits and hyphens, at most %d",
                   (int)EB_ID_SIZE - 1);
  snprintf(m->id, sizeof m->id, "%.*s", (int)size, base);
  char folder[EB_PATH_SIZE];
  if (strlen(path) >= sizeof folder)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "a path of %zu bytes; %zu are taken", strlen(path), sizeof folder - 1);
  eb_path_folder(path, folder);
  if (m->run->host->files.kind(m->run->host->context, folder) != EB_PATH_FOLDER)
    return eb_fail(error, EB_NOT_FOUND, path, "there is no folder %s; make it first", folder);
  if (m->run->host->files.kind(m->run->host->context, path) != EB_PATH_NOTHING)
    return eb_fail(error, EB_EXISTS, path, "this is there already and stays as it is; choose another name");
  return EB_OK;
}

/* The rows that a scheme of numbering gives, by running it: there is one source of them, in the library. */
static eb_status number_rows(making *m, const int *counts, int rows, const char *scheme, eb_error *error)
{
  char text[600], drawn[LINE_SIZE] = "";
  int all = 0;
  for (int i = 0; i < rows; i++)
    all += counts[i];
  if (strspn(scheme, "abcdefghijklmnopqrstuvwxyz-") != strlen(scheme) || strlen(scheme) > 40)
    return eb_fail(error, EB_BAD_VALUE, "--numbering", "a scheme is a word such as odd-left or front-to-rear");
  snprintf(text, sizeof text,
           "return procedure { id = 'n', version = '1', api = 1, title = 'N', run = function() end,\n"
           "layout = { rows = numbering('%s', %d), adjusters = {} } }",
           scheme, all);
  eb_source source = {.name = "numbering.lua", .text = text, .size = strlen(text)};
  size_t count = 0, used = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_json *declare = NULL;
  eb_error met;
  eb_status status = eb_load_declare(m->run->host, &m->run->runner, &source, library, count, &declare, &met);
  if (status != EB_OK)
    return eb_fail(error, EB_BAD_VALUE, "--numbering", "%s", met.message);
  const eb_json *list = eb_json_get(eb_json_get(declare, "layout"), "rows");
  bool fits = eb_json_count(list) == rows;
  for (const eb_json *row = eb_json_first(list); row != NULL; row = eb_json_next(row)) {
    used += (size_t)snprintf(drawn + used, sizeof drawn - used, "%s%s", used == 0 ? "" : " / ",
                             eb_json_count(list) != 2 ? ""
                             : used == 0              ? "left"
                                                      : "right");
    for (const eb_json *bore = eb_json_first(row); bore != NULL; bore = eb_json_next(bore))
      used += (size_t)snprintf(drawn + used, sizeof drawn - used, " %d", (int)eb_json_as_number(bore, 0));
  }
  for (int i = 0; fits && i < rows; i++)
    fits = eb_json_count(eb_json_at(list, i)) == counts[i];
  eb_json_destroy(declare);
  if (!fits)
    return eb_fail(error, EB_BAD_VALUE, "--numbering",
                   "\"%s\" does not fill these rows; two rows alike take odd-left, "
                   "odd-right, left-first or right-first, one row front-to-rear or rear-to-front; else name the bores",
                   scheme);
  m->numbering = scheme;
  return eb_drawing_rows(drawn, &m->drawing, error);
}

/* One line from standard input, without its end; false at the end of input.  One that is too long is asked for anew. */
static bool ask(const char *question, const char *example, char *line, size_t size)
{
  for (;;) {
    printf("%s\n%s\n> ", question, example);
    fflush(stdout);
    if (fgets(line, (int)size, stdin) == NULL)
      return false;
    if (strchr(line, '\n') != NULL || feof(stdin))
      break;
    for (int c = getchar(); c != '\n' && c != EOF;)
      c = getchar();
    printf("Not taken: a line of more than %zu bytes.\n\n", size - 2);
  }
  line[strcspn(line, "\r\n")] = '\0';
  return true;
}

static eb_status no_answer(const char *option, eb_error *error)
{
  return eb_fail(error, EB_BAD_VALUE, option, "nothing was given, and nothing was written; type it, or give %s",
                 option);
}

static eb_status ask_numbering(making *m, const int *counts, int rows, eb_error *error)
{
  while (ask("How are the cylinders numbered?",
             rows == 2
                 ? "odd-left, odd-right, left-first or right-first; left as seen from the gearbox, looking forward"
                 : "front-to-rear or rear-to-front; front is away from the gearbox",
             m->scheme, sizeof m->scheme)) {
    if (number_rows(m, counts, rows, m->scheme, error) == EB_OK)
      return EB_OK;
    printf("Not taken: %s.\n\n", error->message);
  }
  return no_answer("--numbering", error);
}

static eb_status settle_rows(making *m, const char *text, eb_error *error)
{
  int counts[EB_ROWS_MAX], rows = 0;
  const eb_options *o = &m->run->options;
  bool counted = eb_drawing_counts(text, counts, &rows) &&
                 (strchr(text, '+') != NULL || o->numbering != NULL || strchr(text, ' ') == NULL);
  if (!counted && o->numbering != NULL)
    return eb_fail(error, EB_BAD_VALUE, "--numbering", "these rows have their numbers; leave it out, or count: 4 + 4");
  if (!counted)
    return eb_drawing_rows(text, &m->drawing, error);
  if (rows > 2 || (rows == 2 && counts[0] != counts[1]))
    return eb_fail(error, EB_BAD_VALUE, "",
                   "no scheme numbers these rows, only one row or two alike; name the bores, such as 1 2 3 / 4 5 6 7");
  return o->numbering != NULL ? number_rows(m, counts, rows, o->numbering, error)
                              : ask_numbering(m, counts, rows, error);
}

typedef eb_status (*settler)(making *m, const char *text, eb_error *error);

static eb_status settle_parts(making *m, const char *text, eb_error *error)
{
  return eb_drawing_parts(text, &m->drawing, error);
}

/* What is given must be right; what is asked is asked until it is. */
static eb_status settle(making *m, const char *given, const char *option, const char *question, const char *example,
                        char *line, settler take, eb_error *error)
{
  eb_error met;
  if (given != NULL) {
    eb_status status = take(m, given, &met);
    return status == EB_OK ? EB_OK
                           : eb_fail(error, status, met.place[0] == '\0' ? option : met.place, "%s", met.message);
  }
  for (;;) {
    if (!ask(question, example, line, LINE_SIZE))
      return no_answer(option, error);
    if (take(m, line, &met) == EB_OK)
      return EB_OK;
    printf("Not taken: %s.\n\n", met.message);
  }
}

static void add_settings(eb_text *text)
{
  static const char *const absent[] = {"coroutine", "debug", "io", "jit", "os", "package"};
  eb_text_add(text, "{\n  \"runtime.version\": \"Lua 5.4\",\n  \"runtime.builtin\": {");
  for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
    eb_text_printf(text, "%s\n    \"%s\": \"disable\"", i == 0 ? "" : ",", absent[i]);
  eb_text_add(text, "\n  },\n  \"workspace.library\": [\"evenbore-api.lua\"]\n}\n");
}

enum { FILES = 3 };

/* One of the files that an author needs, and what became of it. */
typedef struct made_file {
  char path[EB_PATH_SIZE];
  const char *name;
  eb_text text;
  bool made, differs; /* else it was there; then whether with something else in it */
} made_file;

static bool holds(const eb_run *run, const made_file *f)
{
  char *bytes = NULL;
  size_t size = 0;
  if (eb_file_read(run->host, f->path, f->text.size, EB_FILE_NAMED, &bytes, &size, NULL) != EB_OK)
    return false;
  bool same = size == f->text.size && memcmp(bytes, eb_text_string(&f->text), size) == 0;
  run->host->allocate(run->host->context, bytes, 0);
  return same;
}

/* Only the procedure itself must be new: what is beside it already is left as it is. */
static eb_status write_file(const eb_run *run, made_file *f, bool must, eb_error *error)
{
  if (f->text.failed)
    return eb_fail(error, EB_OUT_OF_MEMORY, f->path, "out of memory");
  if (!must && run->host->files.kind(run->host->context, f->path) != EB_PATH_NOTHING) {
    f->differs = !holds(run, f);
    return EB_OK;
  }
  eb_status status = eb_file_create(run->host, f->path, f->text.bytes, f->text.size, 0666, error);
  f->made = status == EB_OK;
  return status;
}

/* The procedure comes last: once it is there, all is.  What was made before a failure goes again. */
static eb_status write_files(const eb_run *run, made_file *file, eb_error *error)
{
  eb_status status = EB_OK;
  for (int i = FILES - 1; status == EB_OK && i >= 0; i--)
    status = write_file(run, &file[i], i == 0, error);
  for (int i = 0; status != EB_OK && i < FILES; i++)
    if (file[i].made)
      run->host->files.remove(run->host->context, file[i].path);
  return status;
}

static void say_written(const char *path, const made_file *file)
{
  printf("Written: %s", path);
  for (int i = 1; i < FILES; i++)
    if (file[i].made)
      printf(", %s", file[i].name);
  printf("\n");
  for (int i = 1; i < FILES; i++)
    if (file[i].differs)
      printf("Kept:    %s, which says something else; delete it first to have it made anew\n", file[i].name);
  printf("Next:    evenbore check %s\n         evenbore rehearse %s\n", path, path);
}

static eb_status write_all(const making *m, const char *path, eb_error *error)
{
  static const char *const names[FILES] = {"", "evenbore-api.lua", ".luarc.json"};
  const eb_run *run = m->run;
  made_file *file = run->host->allocate(run->host->context, NULL, FILES * sizeof *file);
  if (file == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, path, "out of memory");
  char folder[EB_PATH_SIZE];
  eb_path_folder(path, folder);
  eb_status status = EB_OK;
  for (int i = 0; i < FILES; i++) {
    file[i] = (made_file){.name = names[i]};
    eb_text_init(&file[i].text, run->host);
    if (i == 0)
      snprintf(file[i].path, sizeof file[i].path, "%s", path);
    else if (status == EB_OK)
      status = eb_path_join(folder, names[i], file[i].path, error);
  }
  eb_drawing_write(&m->drawing, m->id, m->title, m->numbering, &file[0].text);
  eb_api_write_lua(&file[1].text);
  add_settings(&file[2].text);
  if (status == EB_OK)
    status = write_files(run, file, error);
  if (status == EB_OK)
    say_written(path, file);
  for (int i = 0; i < FILES; i++)
    eb_text_clear(&file[i].text);
  run->host->allocate(run->host->context, file, 0);
  return status;
}

static bool is_shown(const char *text)
{
  uint32_t c = 0;
  for (size_t at = 0, size = strlen(text); at < size;) {
    size_t step = eb_utf8_decode(text + at, size - at, &c);
    if (step == 0 || eb_char_unprintable(c))
      return false;
    at += step;
  }
  return true;
}

static eb_status check_title(making *m, eb_error *error)
{
  const char *title = m->run->options.title;
  if (title != NULL &&
      (strlen(title) >= sizeof m->title || strpbrk(title, "\"\\") != NULL || title[0] == '\0' || !is_shown(title)))
    return eb_fail(error, EB_BAD_VALUE, "--title",
                   "a title is one line of at most %zu bytes, without \", \\ and characters that hide or turn what is "
                   "read",
                   sizeof m->title - 1);
  snprintf(m->title, sizeof m->title, "%s", title == NULL ? m->id : title);
  return EB_OK;
}

int eb_run_new(const eb_run *run)
{
  making m = {.run = run};
  eb_error error;
  const char *path = run->options.argument;
  eb_status status = read_name(&m, path, &error);
  if (status == EB_OK)
    status = check_title(&m, &error);
  if (status == EB_OK)
    status = settle(&m, run->options.rows, "--rows", "The rows of bores, front to rear, / between rows:",
                    "such as  left 1 3 5 7 / right 2 4 6 8   or how many:  4 + 4", m.rows, settle_rows, &error);
  if (status == EB_OK)
    status = settle(&m, run->options.parts, "--parts", "What can be adjusted, ; between parts:",
                    "such as  link left | right; coupler 1 3 | 5 7; plate each", m.parts, settle_parts, &error);
  if (status == EB_OK)
    status = write_all(&m, path, &error);
  if (status == EB_OK)
    return fflush(stdout) == 0 ? EB_EXIT_DONE : EB_EXIT_FAILED;
  eb_run_complain(run, &error);
  return eb_run_status(status);
}
