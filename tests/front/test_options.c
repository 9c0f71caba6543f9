#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "options.h"

enum { WORDS_MAX = 16 };

/* Reads a command line of words that are parted by '|'. */
static eb_status read_line(const char *line, eb_options *options, eb_error *error)
{
  static char copy[512];
  char *argv[WORDS_MAX + 2] = {(char[]){"evenbore"}};
  int argc = 1;
  strcpy(copy, line);
  for (char *word = strtok(copy, "|"); word != NULL; word = strtok(NULL, "|"))
    argv[argc++] = word;
  return eb_options_read(argc, argv, options, error);
}

static void options_stand_anywhere(void **state)
{
  (void)state;
  static const char *const lines[] = {
      "tune|v8|--lines|--data|/d|--tolerance|4%|--engine=red one",
      "--lines|--data=/d|tune|--tolerance=4|v8|--engine|red one",
      "--engine|red one|--tolerance|4 %|tune|--data|/d|--lines|--|v8",
  };
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    eb_options options = {0};
    assert_int_equal(read_line(lines[i], &options, NULL), EB_OK);
    assert_int_equal(options.command, EB_COMMAND_TUNE);
    assert_string_equal(options.argument, "v8");
    assert_string_equal(options.data, "/d");
    assert_string_equal(options.engine, "red one");
    assert_true(options.lines);
    assert_true(fabs(options.tolerance - 0.04) < 1e-12);
  }
}

static void two_hyphens_end_the_options(void **state)
{
  (void)state;
  eb_options options = {0};
  assert_int_equal(read_line("tune|--|--lines", &options, NULL), EB_OK);
  assert_string_equal(options.argument, "--lines");
  assert_false(options.lines);
}

static void help_and_version_are_found(void **state)
{
  (void)state;
  eb_options options = {0};
  assert_int_equal(read_line("--help", &options, NULL), EB_OK);
  assert_int_equal(options.command, EB_COMMAND_HELP);
  assert_null(options.argument);
  assert_int_equal(read_line("tune|--help", &options, NULL), EB_OK);
  assert_int_equal(options.command, EB_COMMAND_HELP);
  assert_string_equal(options.argument, "tune");
  assert_int_equal(read_line("--version", &options, NULL), EB_OK);
  assert_int_equal(options.command, EB_COMMAND_VERSION);
}

static void mistakes_are_pointed_at(void **state)
{
  (void)state;
  static const struct {
    const char *line, *place, *part;
  } wrong[] = {
      {"tnue|v8", "tnue", "the nearest is tune"},
      {"tune|v8|--linse", "--linse", "the nearest is --lines"},
      {"tune", "tune", "a procedure is missing"},
      {"tune|v8|v6", "v6", "one word too many"},
      {"show", "show", "a session is missing"},
      {"sessions|--lines", "--lines", "not an option of sessions"},
      {"resume|--tolerance|5%", "--tolerance", "keeps what it began with"},
      {"tune|v8|--tolerance|0.05", "--tolerance", "0.1 % to 50 %"},
      {"tune|v8|--tolerance|nan", "--tolerance", "percentage"},
      {"tune|v8|--risk|-3%", "--risk", "out of range"},
      {"tune|v8|--data", "--data", "a value is missing"},
      {"tune|v8|--lines=yes", "--lines", "takes no value"},
      {"tune|v8|--data|a|--data|b", "--data", "given twice"},
      {"tune|v8|--engine|\xFF", "--engine", "not UTF-8"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_options options = {.command = EB_COMMANDS};
    eb_error error;
    assert_int_not_equal(read_line(wrong[i].line, &options, &error), EB_OK);
    assert_string_equal(error.place, wrong[i].place);
    if (strstr(error.message, wrong[i].part) == NULL)
      fail_msg("%s: %s", wrong[i].line, error.message);
    assert_int_equal(options.command, EB_COMMANDS);
  }
}

static void a_gauge_is_read_word_by_word(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  eb_error error;
  assert_int_equal(
      eb_options_gauge("scale 0..50 step 0,5 best 5..40 repeat 1.5% unit kg/h vent two turns out", &gauge, &error),
      EB_OK);
  assert_true(fabs(gauge.high - 50) < 1e-12 && fabs(gauge.step - 0.5) < 1e-12 && fabs(gauge.best_low - 5) < 1e-12);
  assert_true(fabs(gauge.repeatability - 0.015) < 1e-12);
  assert_string_equal(gauge.unit, "kg/h");
  assert_string_equal(gauge.vent, "two turns out");
}

static void what_a_gauge_does_not_name_stays(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  eb_gauge usual = eb_gauge_usual();
  assert_int_equal(eb_options_gauge("vent 3 step 0.5", &gauge, NULL), EB_OK);
  assert_true(fabs(gauge.high - usual.high) < 1e-12 && fabs(gauge.best_high - usual.best_high) < 1e-12);
  assert_string_equal(gauge.vent, "3");
  gauge = usual;
  assert_int_equal(eb_options_gauge("scale 2..8", &gauge, NULL),
                   EB_OK); /* the usual band, 1 to 10, as far as there is scale */
  assert_true(fabs(gauge.best_low - 2) < 1e-12 && fabs(gauge.best_high - 8) < 1e-12);
}

static void a_gauge_is_refused_at_its_word(void **state)
{
  (void)state;
  static const struct {
    const char *text, *place, *part;
  } wrong[] = {
      {"", "--gauge", "no words"},
      {"scale", "--gauge", "a value is missing behind scale"},
      {"scale 1-30", "--gauge, word 2 \"1-30\"", "scale 1..30"},
      {"scale 30..1", "--gauge, word 2 \"30..1\"", "the lower first"},
      {"step nan", "--gauge, word 2 \"nan\"", "step 0.25"},
      {"step 1e400", "--gauge, word 2 \"1e400\"", "step 0.25"},
      {"stpe 1", "--gauge, word 1 \"stpe\"", "the nearest is step"},
      {"colour red", "--gauge, word 1 \"colour\"", "scale, step, best"},
      {"step 1 step 2", "--gauge, word 3 \"step\"", "given twice"},
      {"unit furlong", "--gauge, word 2 \"furlong\"", "kg/h"},
      {"vent one two three four five six seven eight", "--gauge, word 8 \"seven\"", "31 characters"},
      {"step 0", "--gauge", "step"},
      {"best 20..40", "--gauge", "best"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_gauge gauge = eb_gauge_usual();
    eb_gauge before = gauge;
    eb_error error;
    if (eb_options_gauge(wrong[i].text, &gauge, &error) == EB_OK)
      fail_msg("taken: %s", wrong[i].text);
    if (strcmp(error.place, wrong[i].place) != 0 || strstr(error.message, wrong[i].part) == NULL)
      fail_msg("\"%s\": %s: %s", wrong[i].text, error.place, error.message);
    assert_true(fabs(gauge.high - before.high) < 1e-12 && fabs(gauge.step - before.step) < 1e-12);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(options_stand_anywhere),         cmocka_unit_test(two_hyphens_end_the_options),
      cmocka_unit_test(help_and_version_are_found),     cmocka_unit_test(mistakes_are_pointed_at),
      cmocka_unit_test(a_gauge_is_read_word_by_word),   cmocka_unit_test(what_a_gauge_does_not_name_stays),
      cmocka_unit_test(a_gauge_is_refused_at_its_word),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
