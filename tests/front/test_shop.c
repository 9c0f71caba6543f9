/* A shop's files as the library has them: what a gauge learns, and files that are whole whatever fails. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "journal/faulty_host.h"
#include "shop_file.h"

#include "evenbore/shop.h"

#include <dirent.h>
#include <math.h>
#include <unistd.h>

static eb_json *gauge_file(const char *more)
{
  char text[400];
  eb_json *made = NULL;
  eb_error error;
  snprintf(text, sizeof text,
           "{\"format\":\"evenbore-gauge\",\"version\":1,\"name\":\"Bench\",\"scale\":[0,50],\"step\":0.5%s}", more);
  if (eb_gauge_file_read("gauge", text, strlen(text), &made, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  return made;
}

static void near(double met, double wanted, double within)
{
  if (!(fabs(met - wanted) <= within))
    fail_msg("%.12g is not %.12g", met, wanted);
}

/* NIST/SEMATECH e-Handbook 2.4.4 (read): sums of squares of five wafers with 60 degrees of freedom each; their pooled
 * standard deviation is 0.10290 with 300. */
static void what_sessions_teach_is_pooled(void **state)
{
  (void)state;
  static const double sums[] = {0.48115, 0.69209, 0.48483, 1.21752, 0.30076};
  eb_json *file = gauge_file("");
  char digest[8];
  for (int i = 0; i < 5; i++) {
    snprintf(digest, sizeof digest, "d%d", i);
    assert_false(eb_gauge_file_knows(file, digest));
    assert_true(eb_gauge_file_learn(file, "s", digest, (eb_spread){sqrt(sums[i] / 60), 60}));
    assert_true(eb_gauge_file_knows(file, digest));
  }
  const eb_json *learned = eb_json_get(file, "learned");
  near(eb_json_get_number(learned, "repeatability", 0), 0.10290, 5e-6);
  near(eb_json_get_number(learned, "degrees_of_freedom", 0), 300, 0);
  near(eb_json_get_number(learned, "sessions", 0), 5, 0);
  eb_json_destroy(file);
}

static void a_session_begins_with_what_is_known(void **state)
{
  (void)state;
  eb_json *file = gauge_file("");
  eb_gauge gauge = eb_gauge_file_gauge(file);
  near(gauge.repeatability, 0.02, 0);
  near(gauge.repeatability_weight, 4, 0);
  near(gauge.best_low, 0, 0);
  near(gauge.best_high, 50, 0);
  assert_string_equal(gauge.unit, "div");
  /* (4 x 0.02^2 + 12 x 0.01^2) / 16 = 0.000175 */
  eb_gauge_file_learn(file, "s", "d1", (eb_spread){0.01, 12});
  gauge = eb_gauge_file_gauge(file);
  near(gauge.repeatability * gauge.repeatability, 0.000175, 1e-15);
  near(gauge.repeatability_weight, 16, 0);
  /* A gauge that never showed two values of one bore still has the limit that gauge.h sets. */
  for (int i = 0; i < 3; i++)
    eb_gauge_file_learn(file, "s", "d2", (eb_spread){0, 1e8});
  gauge = eb_gauge_file_gauge(file);
  near(gauge.repeatability, 1e-4, 0);
  near(gauge.repeatability_weight, EB_GAUGE_WEIGHT_MAX, 0);
  eb_json *json = eb_gauge_json(&gauge);
  assert_int_equal(eb_gauge_read(json, "", &gauge, NULL), EB_OK);
  eb_json_destroy(json);
  eb_json_destroy(file);
}

static void a_long_history_stays_small(void **state)
{
  (void)state;
  eb_json *file = gauge_file(",\"repeatability\":0.03");
  char digest[80];
  eb_text text;
  eb_text_init(&text, eb_host_system());
  for (int i = 0; i < 500; i++) {
    snprintf(digest, sizeof digest, "%064d", i);
    assert_true(
        eb_gauge_file_learn(file, "20261104-a-procedure-of-an-ordinary-name-1", digest, (eb_spread){0.0123, 7}));
  }
  assert_false(eb_gauge_file_knows(file, "0"));
  assert_true(eb_gauge_file_knows(file, digest));
  eb_json_write_lines(&text, file);
  assert_true(text.size < EB_SHOP_FILE_MAX);
  eb_json *read = NULL;
  assert_int_equal(eb_gauge_file_read("gauge", eb_text_string(&text), text.size, &read, NULL), EB_OK);
  near(eb_json_get_number(eb_json_get(read, "learned"), "degrees_of_freedom", 0), 3500, 0);
  near(eb_json_get_number(eb_json_get(read, "learned"), "repeatability", 0), 0.0123, 1e-12);
  eb_text_clear(&text);
  eb_json_destroy(read);
  eb_json_destroy(file);
}

static void marks_make_the_instrument(void **state)
{
  (void)state;
  static const struct {
    const char *more;
    bool same;
  } known[] = {{",\"notes\":\"x\",\"repeatability\":0.01,\"vent\":\"3\"", true},
               {",\"unit\":\"div\",\"best\":[0,50]", true},
               {",\"unit\":\"kg/h\"", false},
               {",\"best\":[1,50]", false}};
  eb_json *plain = gauge_file("");
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    eb_json *other = gauge_file(known[i].more);
    assert_int_equal(eb_gauge_file_same(plain, other), known[i].same);
    eb_json_destroy(other);
  }
  eb_json_destroy(plain);
}

typedef struct place {
  char folder[64], path[96];
} place;

static place new_place(void)
{
  place made = {.folder = "/tmp/eb-shop-XXXXXX"};
  assert_non_null(mkdtemp(made.folder));
  snprintf(made.path, sizeof made.path, "%s/a.json", made.folder);
  return made;
}

static int files_in(const char *folder)
{
  int count = 0;
  DIR *stream = opendir(folder);
  for (const struct dirent *entry = readdir(stream); entry != NULL; entry = readdir(stream))
    count += entry->d_name[0] != '.';
  closedir(stream);
  return count;
}

static void clear_place(const place *at)
{
  char path[400];
  DIR *stream = opendir(at->folder);
  for (const struct dirent *entry = readdir(stream); entry != NULL; entry = readdir(stream)) {
    snprintf(path, sizeof path, "%s/%s", at->folder, entry->d_name);
    if (entry->d_name[0] != '.')
      unlink(path);
  }
  closedir(stream);
  rmdir(at->folder);
}

static double number_in(const char *path)
{
  eb_shop_file file;
  eb_error error;
  if (eb_shop_file_read(eb_host_system(), path, &file, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  double number = eb_json_get_number(file.json, "n", -1);
  eb_shop_file_clear(&file);
  return number;
}

static eb_status write_number(const eb_host *host, const char *path, double number, eb_error *error)
{
  eb_json *value = eb_json_object();
  eb_json_set_number(value, "n", number);
  eb_status status = eb_shop_file_write(host, path, value, error);
  eb_json_destroy(value);
  return status;
}

/* Every call in turn fails, is torn, or is the last one before the power goes: the file is the old one or the new one,
 * and a failure leaves nothing beside it. */
static void a_file_is_the_old_or_the_new_one_whatever_fails(void **state)
{
  (void)state;
  static const faulty_call calls[] = {FAULTY_OPEN, FAULTY_WRITE, FAULTY_SYNC, FAULTY_RENAME, FAULTY_ALLOCATE};
  place at = new_place();
  eb_error error;
  int runs = 0;
  for (size_t c = 0; c < sizeof calls / sizeof calls[0]; c++)
    for (int number = 1; number < 12; number++, runs++) {
      assert_int_equal(write_number(eb_host_system(), at.path, 1, &error), EB_OK);
      faulty f = {.inner = eb_host_system(), .call = calls[c], .at = number, .way = FAULTY_TORN, .failure = ENOSPC};
      if (calls[c] != FAULTY_WRITE)
        f.way = FAULTY_FAILS;
      eb_host host = faulty_host(&f);
      eb_status status = write_number(&host, at.path, 2, &error);
      near(number_in(at.path), status == EB_OK ? 2 : 1, 0);
      assert_int_equal(files_in(at.folder), 1);
      if (status != EB_OK)
        assert_true(f.failed && error.message[0] != '\0');
      if (!f.failed)
        break;
    }
  assert_true(runs >= 7);
  clear_place(&at);
}

static void a_file_survives_an_end_at_any_call(void **state)
{
  (void)state;
  place at = new_place();
  eb_error error;
  bool complete = false;
  int last = 1;
  for (; !complete && last < 60; last++) {
    assert_int_equal(write_number(eb_host_system(), at.path, 1, &error), EB_OK);
    faulty f = {.inner = eb_host_system(), .last = last};
    eb_host host = faulty_host(&f);
    eb_status status = write_number(&host, at.path, 2, &error);
    complete = !f.dead;
    double number = number_in(at.path);
    assert_true(number == 1 || number == 2);
    assert_true(status != EB_OK || number == 2);
    assert_in_range(files_in(at.folder), 1, 2);
  }
  assert_true(complete && last > 5);
  clear_place(&at);
}

static void a_folder_is_held_by_one(void **state)
{
  (void)state;
  place at = new_place();
  eb_error error;
  int one = -1;
  int other = -1;
  assert_int_equal(eb_shop_file_hold(eb_host_system(), at.path, &one, &error), EB_OK);
  assert_int_equal(eb_shop_file_hold(eb_host_system(), at.path, &other, &error), EB_HELD);
  eb_shop_file_release(eb_host_system(), one);
  assert_int_equal(eb_shop_file_hold(eb_host_system(), at.path, &other, &error), EB_OK);
  eb_shop_file_release(eb_host_system(), other);
  clear_place(&at);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_sessions_teach_is_pooled),
      cmocka_unit_test(a_session_begins_with_what_is_known),
      cmocka_unit_test(a_long_history_stays_small),
      cmocka_unit_test(marks_make_the_instrument),
      cmocka_unit_test(a_file_is_the_old_or_the_new_one_whatever_fails),
      cmocka_unit_test(a_file_survives_an_end_at_any_call),
      cmocka_unit_test(a_folder_is_held_by_one),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
