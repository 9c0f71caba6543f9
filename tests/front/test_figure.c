#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "figure.h"

enum { WORDS_MAX = 40 };

typedef struct answer {
  int status;
  char *out;
  char *err;
} answer;

static answer run(int argc, char **argv)
{
  answer a = {0, NULL, NULL};
  size_t out_size = 0;
  size_t err_size = 0;
  FILE *out = open_memstream(&a.out, &out_size);
  FILE *err = open_memstream(&a.err, &err_size);
  assert_non_null(out);
  assert_non_null(err);
  a.status = eb_figure_run(argc, argv, out, err);
  fclose(out);
  fclose(err);
  return a;
}

/* "figure move --bore 48mm" */
static answer ask(const char *line)
{
  char *words[WORDS_MAX];
  char *copy = strdup(line);
  assert_non_null(copy);
  int count = 0;
  for (char *word = strtok(copy, " "); word != NULL && count < WORDS_MAX; word = strtok(NULL, " "))
    words[count++] = word;
  answer a = run(count, words);
  free(copy);
  return a;
}

static void end(answer *a)
{
  free(a->out);
  free(a->err);
}

static void assert_answers(const char *line, const char *const *parts, size_t count)
{
  answer a = ask(line);
  if (a.status != 0 || a.err[0] != '\0')
    fail_msg("%s: %d, %s", line, a.status, a.err);
  for (size_t i = 0; i < count; i++)
    if (strstr(a.out, parts[i]) == NULL)
      fail_msg("%s: no \"%s\" in: %s", line, parts[i], a.out);
  end(&a);
}

static void assert_refuses(const char *line, const char *part)
{
  answer a = ask(line);
  if (a.status != 2 || a.out[0] != '\0' || strstr(a.err, part) == NULL)
    fail_msg("%s: %d, not \"%s\" but: %s%s", line, a.status, part, a.err, a.out);
  const char *newline = strchr(a.err, '\n');
  if (newline == NULL || newline[1] != '\0')
    fail_msg("%s: not one line: %s", line, a.err);
  end(&a);
}

static void every_example_of_the_help_is_answered(void **state)
{
  (void)state;
  answer help = ask("figure --help");
  assert_int_equal(help.status, 0);
  static const char lead[] = "  evenbore ";
  int examples = 0;
  for (char *at = strstr(help.out, lead); at != NULL; at = strstr(at, lead)) {
    at += strlen(lead);
    char line[200];
    snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
    answer a = ask(line);
    if (a.status != 0 || a.out[0] == '\0' || a.err[0] != '\0')
      fail_msg("%s: %d, %s", line, a.status, a.err);
    end(&a);
    examples++;
  }
  assert_int_equal(examples, 8);
  answer alone = ask("figure");
  assert_int_equal(alone.status, 0);
  assert_string_equal(alone.out, help.out);
  end(&alone);
  end(&help);
}

/* Bore 46 mm, closed at 6 degrees, a gap of 0.05 mm: angle, travel and area of that plate were computed
 * elsewhere (tests/reference/data/throttle_gap.csv). */
static void gap_and_travel_are_named_apart(void **state)
{
  (void)state;
  static const char *const mm[] = {"feeler gap   0.0500 mm (1.969 thou)", "edge travel  0.436 mm (17.16 thou)",
                                   "plate angle  7.09 deg", "open area    3.61 mm2"};
  assert_answers("figure opening --bore 46mm --closed 6deg --gap 0.05mm", mm, 4);
  assert_answers("figure opening --bore 46mm --closed 6deg --travel 0.435900723197mm", mm, 4);
  assert_answers("figure opening --bore 46mm --closed 6deg --area 3.61283155163mm2", mm, 4);
  assert_answers("figure opening --closed=6deg --area=3.61283155163 --bore=4.6cm", mm, 4);
  static const char *const um[] = {"feeler gap   50.0 um", "edge travel  436 um"};
  assert_answers("figure opening --bore 46 --closed 6 --gap 0,05 --as um", um, 2);
}

static void a_move_says_what_it_cannot_know(void **state)
{
  (void)state;
  /* A tenth of a gap is a tenth of the air, whatever the bore. */
  static const char *const gap_alone[] = {"feeler gap at the widest point: open by 0.00500 mm",
                                          "edge travel along the bore: no amount, the bore's diameter is not known",
                                          "screw: no amount", "choked"};
  assert_answers("figure move --change 10% --idle-gap 0.05mm", gap_alone, 4);
  static const char *const no_angle[] = {
      "edge travel along the bore: no amount, the plate's closed angle is not known"};
  assert_answers("figure move --change 10% --idle-gap 0.05mm --bore 46mm", no_angle, 1);
  static const char *const no_lever[] = {"edge travel along the bore: open by", "screw: no amount, the lever's radius"};
  assert_answers("figure move --change 10% --idle-gap 0.05mm --bore 46mm --closed 6 --thread M5", no_lever, 2);
  assert_refuses("figure move --change 10%", "--idle-gap: it is missing");
}

static void a_doubtful_move_has_a_range(void **state)
{
  (void)state;
  static const char *const sure[] = {
      "close by 0.00500 mm (0.1969 thou), 0.00300 mm (0.1181 thou) to 0.00700 mm (0.276 thou)"};
  assert_answers("figure move --change -10% --doubt 2% --idle-gap 0.05mm", sure, 1);
  static const char *const unsure[] = {"close by 5.00 um; at 95 % anything from open by 5.00 um to close by 15.00 um"};
  assert_answers("figure move --change -10% --doubt 10% --idle-gap 0.05mm --as um", unsure, 1);
  static const char *const half[] = {"open by 10.00 um, the bent half alone"};
  assert_answers("figure move --change 10% --one-half --idle-gap 0.05mm --as um", half, 1);
}

static void turns_growth_air_and_units(void **state)
{
  (void)state;
  /* A turn of 10-32 is 31.25 thousandths [ASME B1.1]. */
  static const char *const turn[] = {"1.000 turn in: the screw goes 31.3 thou", "not known without --bore"};
  assert_answers("figure turn --thread 10-32 --lever 20mm --as thou", turn, 2);
  /* 250 mm, 70 K, 11e-6 per kelvin: 0.1925 mm. */
  static const char *const growth[] = {"grows 0.1925 mm", "0.368 deg", "steel link"};
  assert_answers("figure growth --length 250mm --arm 30mm --cold 68F --warm 90C", growth, 3);
  /* ISO 2533 at 1500 m: 845.56 hPa, 1.05807 kg/m3. */
  static const char *const air[] = {"pressure 846 hPa", "density 1.058 kg/m3", "86.4 %", "below 447 hPa absolute"};
  assert_answers("figure air --altitude 1500m", air, 4);
  static const char *const unit[] = {"0.05 mm = 1.968504 thou"};
  assert_answers("figure unit 0.05mm --as thou", unit, 1);
  static const char *const warm[] = {"-40 F = -40 C"};
  assert_answers("figure unit -40F --as C", warm, 1);
}

static void what_cannot_be_used_gets_one_line(void **state)
{
  (void)state;
  static const char *const wrong[][2] = {
      {"figure mvoe", "\"move\" is near it"},
      {"figure stretch", "one of opening, move"},
      {"figure move --chnage 6%", "\"--change\" is near it"},
      {"figure move --chnage=6%", "\"--change\" is near it"},
      {"figure move --colour 6%", "it takes --bore"},
      {"figure turn --change 6%", "there is no \"--change\""},
      {"figure move --change", "its value is missing; write --change 6%"},
      {"figure move --change 6% --change 7%", "say it once"},
      {"figure turn --thread M5 --pitch 0.8mm", "say it once"},
      {"figure move --change 6mm --idle-gap 0.05mm", "--change: "},
      {"figure move --change 6% --bore 0 --idle-gap 0.05mm", "--bore: it must be above 0"},
      {"figure move --change 6% --idle-gap 0.05 --idle-angle 7", "2 ways"},
      {"figure move --change 6% --idle-gap 0.05 --as C", "--as: "},
      {"figure move --change -120% --idle-gap 0.05", "above -100 %"},
      {"figure move six", "\"six\" stands behind no option"},
      {"figure move --one-half=yes", "takes no value"},
      {"figure opening --bore 46 --gap 0.05", "--closed: it is missing; write --closed 5deg"},
      {"figure opening --bore 46 --closed 6", "--travel, --angle or --area"},
      {"figure opening --bore 46 --closed 95 --gap 0.05", "0 to below 90 deg"},
      {"figure opening --bore 46 --closed 6 --gap 30", "half the bore"},
      {"figure turn --thread M7", "no thread \"M7\""},
      {"figure turn --thread M5 --lever 20 --turns -3 --bore 46 --closed 6 --idle-gap 0.05", "6 deg (closed)"},
      {"figure growth --length 250", "--arm: it is missing"},
      {"figure air --altitude 90000m", "-2000 to 20000 m"},
      {"figure unit 3mm", "--as: it is missing"},
      {"figure unit --as mm", "the number is missing"},
      {"figure unit 3mm --as C", "unit of length"},
      {"figure unit 3mm --as furlong", "\"furlong\" is no unit"},
      {"figure move --\x1b[2J 3", "\\u{1B}[2J"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
    assert_refuses(wrong[i][0], wrong[i][1]);
}

static void an_answer_that_cannot_be_written_is_a_failure(void **state)
{
  (void)state;
  FILE *full = fopen("/dev/full", "w");
  assert_non_null(full);
  char *argv[] = {(char[]){"figure"}, (char[]){"unit"}, (char[]){"1in"}, (char[]){"--as"}, (char[]){"mm"}};
  char *said = NULL;
  size_t size = 0;
  FILE *err = open_memstream(&said, &size);
  assert_int_equal(eb_figure_run(5, argv, full, err), 1);
  fclose(err);
  assert_non_null(strstr(said, "could not be written"));
  free(said);
  fclose(full);
}

/* Whatever is typed: status 0 with an answer or 2 with one line, and no control character reaches the screen. */
static void nothing_typed_breaks_it(void **state)
{
  (void)state;
  static char pieces[][16] = {"opening",
                              "move",
                              "turn",
                              "unit",
                              "--bore",
                              "--closed",
                              "--gap",
                              "--as",
                              "--change",
                              "--idle-gap",
                              "--thread",
                              "--lever",
                              "--turns",
                              "46mm",
                              "6deg",
                              "0.05mm",
                              "thou",
                              "M5",
                              "20%",
                              "-1",
                              "1/0",
                              "",
                              "=",
                              "--",
                              "--bore=",
                              "\xff\xfe",
                              "\x1b[31m",
                              "--help",
                              "999999999999999",
                              "--idle-area",
                              "0.0000001",
                              "--doubt",
                              "--one-half"};
  uint32_t seed = 20260101;
  for (int i = 0; i < 20000; i++) {
    char *words[10] = {(char[]){"figure"}};
    int count = 1;
    for (; count < 10; count++) {
      seed = seed * 1664525U + 1013904223U;
      if (count > 2 && (seed >> 28) == 0)
        break;
      words[count] = pieces[(seed >> 8) % (sizeof pieces / sizeof pieces[0])];
    }
    answer a = run(count, words);
    assert_true(a.status == 0 || a.status == 2);
    assert_int_equal(a.status == 0, a.out[0] != '\0');
    assert_int_equal(a.status == 2, a.err[0] != '\0');
    for (const char *c = a.err; *c != '\0'; c++)
      assert_true(((unsigned char)*c >= 0x20 && (unsigned char)*c < 0x7F) || (*c == '\n' && c[1] == '\0'));
    end(&a);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_example_of_the_help_is_answered),
      cmocka_unit_test(gap_and_travel_are_named_apart),
      cmocka_unit_test(a_move_says_what_it_cannot_know),
      cmocka_unit_test(a_doubtful_move_has_a_range),
      cmocka_unit_test(turns_growth_air_and_units),
      cmocka_unit_test(what_cannot_be_used_gets_one_line),
      cmocka_unit_test(an_answer_that_cannot_be_written_is_a_failure),
      cmocka_unit_test(nothing_typed_breaks_it),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
