/* The built-in procedures as their authors wrote them: short, with the layouts and adjusters that they should have, and
 * what an author is told who writes one wrongly. */
#include "job_rig.h"

#include "evenbore/layout.h"

#include <ctype.h>

/* A layout that follows the routine needs no more lines of Lua than this, comments and empty lines aside. */
enum { LINES_MAX = 25 };

static int lines_of_code(const char *text)
{
  int lines = 0;
  while (*text != '\0') {
    const char *start = text + strspn(text, " \t");
    size_t size = strcspn(text, "\n");
    lines += *start != '\n' && *start != '\0' && strncmp(start, "--", 2) != 0;
    text += size + (text[size] == '\n');
  }
  return lines;
}

static void procedures_are_short(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    int lines = lines_of_code(sources[i].text);
    print_message("%s: %d lines\n", sources[i].name, lines);
    assert_true(lines >= 5 && lines <= LINES_MAX);
  }
}

/* Drawings: a line a combination of options, read from a file that a workshop person could add to. */
typedef struct drawing {
  char procedure[32], options[100], rows[200];
} drawing;
enum { DRAWINGS_MAX = 200 };

/* Words with one space between them. */
static void squeeze(const char *from, size_t size, char *to)
{
  char *end = to;
  for (size_t i = 0; i < size; i++)
    if (!isspace((unsigned char)from[i]))
      *end++ = from[i];
    else if (end > to && end[-1] != ' ')
      *end++ = ' ';
  while (end > to && end[-1] == ' ')
    end--;
  *end = '\0';
}

static int read_drawings(drawing *drawings)
{
  FILE *file = fopen(EB_TESTS_FOLDER "/procedures/layouts.txt", "r");
  assert_non_null(file);
  char line[400];
  int count = 0;
  while (fgets(line, sizeof line, file) != NULL) {
    size_t head = strcspn(line, "|");
    if (line[0] == '#' || line[0] == '\n')
      continue;
    assert_true(line[head] == '|' && count < DRAWINGS_MAX);
    drawing *d = &drawings[count++];
    size_t name = strcspn(line, " ");
    snprintf(d->procedure, sizeof d->procedure, "%.*s", (int)name, line);
    squeeze(line + name, head - name, d->options);
    squeeze(line + head + 1, strlen(line + head + 1), d->rows);
    memmove(d->options, d->options + (d->options[0] == ' '), strlen(d->options));
    memmove(d->rows, d->rows + (d->rows[0] == ' '), strlen(d->rows));
  }
  fclose(file);
  return count;
}

/* "left 1 3 | right 2 4" */
static void draw(const eb_json *layout, char *text, size_t size)
{
  size_t used = 0;
  const eb_json *row = eb_json_first(eb_json_get(layout, "rows"));
  const eb_json *title = eb_json_first(eb_json_get(layout, "row_titles"));
  text[0] = '\0';
  for (; row != NULL; row = eb_json_next(row), title = eb_json_next(title)) {
    used += (size_t)snprintf(text + used, size - used, "%s%s", used == 0 ? "" : " | ", eb_json_as_string(title, ""));
    for (const eb_json *bore = eb_json_first(row); bore != NULL; bore = eb_json_next(bore))
      used += (size_t)snprintf(text + used, size - used, "%s%s", used == 0 || text[used - 1] == ' ' ? "" : " ",
                               eb_json_as_string(bore, "?"));
  }
}

/* What a procedure declares before it asks anything; owned by the caller. */
static eb_json *declaration(const char *procedure)
{
  job j;
  eb_journal *journal = NULL;
  eb_recovery recovery;
  job_begin(&j, procedure, NULL);
  assert_int_equal(eb_journal_read(&j.host, j.path, &journal, &recovery, NULL), EB_OK);
  eb_json *declare = eb_json_copy(eb_json_get(eb_journal_record(journal, 0), "declare"));
  eb_journal_close(journal);
  job_finish(&j);
  return declare;
}

/* How many values an option can have that make another layout. */
static int values_of(const eb_json *option)
{
  if (strcmp(eb_json_get_string(option, "kind", ""), "choose") == 0)
    return eb_json_count(eb_json_get(option, "options"));
  if (strcmp(eb_json_get_string(option, "quantity", ""), "count") != 0)
    return 1;
  return 1 + (int)((eb_json_get_number(option, "high", 0) - eb_json_get_number(option, "low", 0)) /
                   eb_json_get_number(option, "step", 1));
}

/* The options of a drawing as an engine file has them; what it does not name is at its least. */
static eb_json *engine_file(const drawing *d, const eb_json *options)
{
  eb_json *inputs = eb_json_object();
  eb_json_set(inputs, "engine_file", eb_json_object());
  eb_json *file = eb_json_member(inputs, "engine_file");
  eb_json_set(file, "layout", eb_json_object());
  eb_json *given = eb_json_member(file, "layout");
  for (const eb_json *option = eb_json_first(options); option != NULL; option = eb_json_next(option)) {
    const char *id = eb_json_get_string(option, "id", "");
    bool choice = strcmp(eb_json_get_string(option, "kind", ""), "choose") == 0;
    engine e = {.options = d->options};
    char typed[64];
    if (!choice && strcmp(eb_json_get_string(option, "quantity", ""), "count") != 0)
      snprintf(typed, sizeof typed, "%g", eb_json_get_number(option, "low", 0));
    else
      type_option(&e, id, typed, sizeof typed);
    eb_json_set(given, id, choice ? eb_json_from_string(typed) : eb_json_from_number(atof(typed)));
  }
  return inputs;
}

static void check_drawing(const drawing *d, const eb_json *options)
{
  job j;
  char text[200];
  eb_json *inputs = eb_json_count(options) == 0 ? NULL : engine_file(d, options);
  job_begin(&j, d->procedure, inputs);
  draw(j.layout, text, sizeof text);
  if (strcmp(text, d->rows) != 0)
    fail_msg("%s %s: %s instead of %s", d->procedure, d->options, text, d->rows);
  job_finish(&j);
  eb_json_destroy(inputs);
}

static void every_combination_of_options_has_its_layout(void **state)
{
  (void)state;
  static drawing drawings[DRAWINGS_MAX];
  int drawn = read_drawings(drawings);
  size_t count = 0;
  int met = 0;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    char procedure[32];
    snprintf(procedure, sizeof procedure, "%.*s", (int)strcspn(sources[i].name, "."), sources[i].name);
    eb_json *declare = declaration(procedure);
    const eb_json *options = eb_json_get(declare, "options");
    int wanted = 1;
    for (const eb_json *option = eb_json_first(options); option != NULL; option = eb_json_next(option))
      wanted *= values_of(option);
    for (int k = 0; k < drawn; k++) {
      if (strcmp(drawings[k].procedure, procedure) != 0)
        continue;
      for (int other = 0; other < k; other++)
        assert_false(strcmp(drawings[other].procedure, procedure) == 0 &&
                     strcmp(drawings[other].options, drawings[k].options) == 0);
      check_drawing(&drawings[k], options);
      wanted--;
      met++;
    }
    if (wanted != 0)
      fail_msg("%s: %d combinations of options have no drawing", procedure, wanted);
    eb_json_destroy(declare);
  }
  assert_int_equal(met, drawn);
}

/* The figures of the study are about these very adjusters. */
static const struct {
  const char *file;
  drawing drawing;
} studied[] = {
    {"inline-four", {.procedure = "inline-four"}},
    {"inline-six", {.procedure = "inline-six", .options = "numbering=front-to-rear"}},
    {"v12-coupled", {.procedure = "v12-coupled", .options = "numbering=left-first"}},
    {"v6-common-shafts", {.procedure = "twin-bank", .options = "cylinders=6 numbering=odd-left"}},
    {"v8-coupled", {.procedure = "v8-coupled"}},
};

static const eb_json *find_adjuster(const eb_json *layout, const char *id)
{
  const eb_json *adjuster = eb_json_first(eb_json_get(layout, "adjusters"));
  while (adjuster != NULL && strcmp(eb_json_get_string(adjuster, "id", ""), id) != 0)
    adjuster = eb_json_next(adjuster);
  return adjuster;
}

static eb_json *study_layout(const char *name)
{
  char path[300];
  char text[1 << 14];
  snprintf(path, sizeof path, EB_TESTS_FOLDER "/study/layouts/%s.json", name);
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  size_t size = fread(text, 1, sizeof text, file);
  fclose(file);
  eb_json *json = NULL;
  eb_layout layout;
  assert_int_equal(eb_json_parse(text, size, &json, NULL), EB_OK);
  assert_int_equal(eb_layout_read(json, name, &layout, NULL), EB_OK);
  eb_json_destroy(json);
  return eb_layout_json(&layout);
}

static void adjusters_are_those_of_the_study(void **state)
{
  (void)state;
  static const char *const keys[] = {"kind", "sides", "effort", "stopped"};
  for (size_t i = 0; i < sizeof studied / sizeof studied[0]; i++) {
    job j;
    eb_json *declare = declaration(studied[i].drawing.procedure);
    eb_json *inputs = engine_file(&studied[i].drawing, eb_json_get(declare, "options"));
    eb_json *wanted = study_layout(studied[i].file);
    job_begin(&j, studied[i].drawing.procedure, inputs);
    const eb_json *list = eb_json_get(wanted, "adjusters");
    assert_int_equal(eb_json_count(eb_json_get(j.layout, "adjusters")), eb_json_count(list));
    for (const eb_json *adjuster = eb_json_first(list); adjuster != NULL; adjuster = eb_json_next(adjuster)) {
      const char *id = eb_json_get_string(adjuster, "id", "");
      const eb_json *met = find_adjuster(j.layout, id);
      for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
        if (!eb_json_equal(eb_json_get(met, keys[k]), eb_json_get(adjuster, keys[k])))
          fail_msg("%s: %s has another %s", studied[i].file, id, keys[k]);
    }
    job_finish(&j);
    eb_json_destroy(wanted);
    eb_json_destroy(inputs);
    eb_json_destroy(declare);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(procedures_are_short),
      cmocka_unit_test(every_combination_of_options_has_its_layout),
      cmocka_unit_test(adjusters_are_those_of_the_study),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
