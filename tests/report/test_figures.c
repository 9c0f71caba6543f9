#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/job.h"

enum { BOXES_MAX = 400 };

typedef struct box {
  double left, top, right, bottom;
  char words[200];
} box;

static double attribute(const char *tag, const char *name)
{
  char wanted[40];
  snprintf(wanted, sizeof wanted, " %s=\"", name);
  const char *found = strstr(tag, wanted);
  assert_non_null(found);
  return strtod(found + strlen(wanted), NULL);
}

/* A generous width of sans-serif letters: 0.6 of their size, 0.65 where bold. */
static box measure(const char *tag)
{
  box b;
  const char *end = strchr(tag, '>');
  const char *close = strstr(end, "</text>");
  char class[40] = "";
  snprintf(b.words, sizeof b.words, "%.*s", (int)(close - end - 1), end + 1);
  const char *with = strstr(tag, "class=\"");
  if (with != NULL && with < end)
    snprintf(class, sizeof class, "%.*s", (int)strcspn(with + 7, "\""), with + 7);
  double size = strstr(class, "name") != NULL ? 16 : strstr(class, "small") != NULL ? 11 : 13;
  bool bold = strstr(class, "name") != NULL || strstr(class, "bold") != NULL;
  double width = (double)eb_utf8_columns(b.words) * size * (bold ? 0.65 : 0.6);
  double x = attribute(tag, "x"), y = attribute(tag, "y");
  b.left = strstr(class, "mid") != NULL ? x - width / 2 : strstr(class, "end") != NULL ? x - width : x;
  b.right = b.left + width;
  b.top = y - size * 0.8;
  b.bottom = y + size * 0.2;
  return b;
}

static bool overlap(const box *a, const box *b)
{
  return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

/* All words of one drawing lie inside it and apart from each other. */
static void check_drawing(const char *svg, const char *end)
{
  static box boxes[BOXES_MAX];
  int count = 0;
  double width, height;
  const char *view = strstr(svg, "viewBox=\"0 0 ");
  assert_non_null(view);
  assert_int_equal(sscanf(view, "viewBox=\"0 0 %lf %lf", &width, &height), 2);
  for (const char *at = strstr(svg, "<text "); at != NULL && at < end; at = strstr(at + 1, "<text ")) {
    assert_true(count < BOXES_MAX);
    box b = measure(at);
    if (b.words[0] == '\0')
      continue;
    if (b.left < 0 || b.top < 0 || b.right > width || b.bottom > height)
      fail_msg("\"%s\" leaves its drawing: %g to %g of %g", b.words, b.left, b.right, width);
    for (int i = 0; i < count; i++)
      if (overlap(&boxes[i], &b))
        fail_msg("\"%s\" lies on \"%s\"", b.words, boxes[i].words);
    boxes[count++] = b;
  }
  assert_true(count > 0);
}

static void check_page(job *j, int drawings)
{
  eb_text page;
  job_write(j, EB_REPORT_PAGE, false, &page);
  int met = 0;
  /* Signs of the key have no words. */
  for (const char *svg = strstr(page.bytes, "<svg"); svg != NULL; svg = strstr(svg + 1, "<svg"))
    if (strstr(svg, "role=\"img\"") != NULL && strstr(svg, "role=\"img\"") < strchr(svg, '>')) {
      check_drawing(svg, strstr(svg, "</svg>"));
      met++;
    }
  assert_int_equal(met, drawings);
  eb_text_clear(&page);
}

/* A layout of rows of the sizes given, ended by 0, with names made by `form`. */
static void check_rows(const int *rows, const char *form, double value, double deviation, const char *word)
{
  static char bores[24][32];
  char layout[4096];
  int count = 0;
  size_t used = (size_t)snprintf(layout, sizeof layout, "{\"rows\":[");
  for (int r = 0; rows[r] > 0; r++) {
    used += (size_t)snprintf(layout + used, sizeof layout - used, "%s[", r == 0 ? "" : ",");
    for (int i = 0; i < rows[r]; i++, count++) {
      snprintf(bores[count], sizeof bores[count], form, (count + 1) % 100);
      used += (size_t)snprintf(layout + used, sizeof layout - used, "%s\"%s\"", i == 0 ? "" : ",", bores[count]);
    }
    used += (size_t)snprintf(layout + used, sizeof layout - used, "]");
  }
  snprintf(layout + used, sizeof layout - used, "],\"adjusters\":[]}");
  job j;
  job_begin(&j, "kg/h", layout);
  job_verdict(&j, bores, count, value, deviation, word);
  job_verdict(&j, bores, count, value, deviation / 3, "left out");
  check_page(&j, 3);
  job_end(&j);
}

static const int layouts[][5] = {{1, 0},    {2, 0},    {4, 0},          {1, 1, 0},    {6, 0},      {3, 3, 0}, {4, 4, 0},
                                 {6, 6, 0}, {8, 8, 0}, {4, 4, 4, 4, 0}, {3, 3, 3, 0}, {12, 12, 0}, {24, 0}};

static void words_do_not_overlap(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof layouts / sizeof layouts[0]; i++) {
    check_rows(layouts[i], "%d", 6.25, 0.08, "uneven");
    check_rows(layouts[i], "a very long name of a bore %02d", 12345.67, 9.99, "uneven");
    check_rows(layouts[i], "%d", 0.01, 0.9, "unsure");
  }
}

/* "v12-coupled numbering=odd-left | left 1 3 5 | right 2 4 6" as rows of JSON and the bores' names; how many. */
static int read_drawn(char *line, char layout[4096], char bores[24][32])
{
  int count = 0;
  char *rest = NULL, titles[512] = "";
  size_t used = (size_t)snprintf(layout, 4096, "{\"rows\":[");
  strtok_r(line, "|\n", &rest);
  for (char *row = strtok_r(NULL, "|\n", &rest); row != NULL; row = strtok_r(NULL, "|\n", &rest)) {
    char *words = NULL, *word = strtok_r(row, " ", &words);
    if (word != NULL && strtol(word, NULL, 10) == 0) {
      snprintf(titles + strlen(titles), sizeof titles - strlen(titles), "%s\"%s\"", titles[0] == '\0' ? "" : ",", word);
      word = strtok_r(NULL, " ", &words);
    }
    used += (size_t)snprintf(layout + used, 4096 - used, "%s[", layout[used - 1] == ']' ? "," : "");
    for (int i = 0; word != NULL; word = strtok_r(NULL, " ", &words), i++) {
      snprintf(bores[count++], 32, "%s", word);
      used += (size_t)snprintf(layout + used, 4096 - used, "%s\"%s\"", i == 0 ? "" : ",", word);
    }
    used += (size_t)snprintf(layout + used, 4096 - used, "]");
  }
  used += (size_t)snprintf(layout + used, 4096 - used, "]%s%s%s,\"adjusters\":[]}",
                           titles[0] == '\0' ? "" : ",\"row_titles\":[", titles, titles[0] == '\0' ? "" : "]");
  assert_true(used < 4096);
  return count;
}

/* Of each built-in procedure, through all of its options, as tests/procedures/layouts.txt lists them. */
static void words_do_not_overlap_in_any_layout_that_is_built_in(void **state)
{
  (void)state;
  static char line[512], layout[4096], bores[24][32];
  int met = 0;
  FILE *file = fopen(EB_TESTS_FOLDER "/procedures/layouts.txt", "r");
  assert_non_null(file);
  while (fgets(line, sizeof line, file) != NULL) {
    if (line[0] == '#' || line[0] == '\n')
      continue;
    int count = read_drawn(line, layout, bores);
    job j;
    job_begin(&j, "div", layout);
    job_verdict(&j, bores, count, 28.88, 0.999, "uneven");
    job_verdict(&j, bores, count, 6.25, 0.01, "even");
    check_page(&j, 3);
    job_end(&j);
    met++;
  }
  fclose(file);
  assert_true(met >= 40);
}

/* A long job: many verdicts and a stop before each. */
static void the_course_of_a_long_job_can_be_read(void **state)
{
  (void)state;
  static char bores[2][32] = {"1", "2"};
  static const int lengths[] = {1, 2, 18, 19, 40};
  for (size_t l = 0; l < sizeof lengths / sizeof lengths[0]; l++) {
    job j;
    job_begin(&j, "div",
              "{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[\"1\"],"
              "[\"2\"]]}]}");
    for (int i = 0; i < lengths[l]; i++) {
      job_verdict(&j, bores, 2, 6, 0.6 / (i + 1), "uneven");
      for (int m = 0; m < 3; m++)
        job_add(&j, "{\"kind\":\"answer\",\"ask\":{\"kind\":\"adjust\",\"key\":\"k\",\"adjuster\":\"s\",\"move\":0.1},"
                    "\"value\":{\"done\":true}}");
    }
    check_page(&j, lengths[l] == 1 ? 2 : 3);
    job_end(&j);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(words_do_not_overlap),
      cmocka_unit_test(words_do_not_overlap_in_any_layout_that_is_built_in),
      cmocka_unit_test(the_course_of_a_long_job_can_be_read),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
