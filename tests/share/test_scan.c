/* A folder that anybody may have written: each thing in it is refused or taken by itself. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "share/shelf_rig.h"

#include <fcntl.h>

typedef struct stick {
  shop s;
  char folder[128];
  eb_found_list list;
} stick;

static void stick_new(stick *t)
{
  *t = (stick){.list = {.host = eb_host_system()}};
  shop_new(&t->s);
  shop_open(&t->s);
  snprintf(t->folder, sizeof t->folder, "%s/stick", t->s.data);
  assert_int_equal(mkdir(t->folder, 0755), 0);
}

static void stick_end(stick *t)
{
  eb_found_list_clear(&t->list);
  shop_end(&t->s);
}

static void put(const stick *t, const char *name, const char *bytes, size_t size)
{
  char path[512];
  snprintf(path, sizeof path, "%s/%s", t->folder, name);
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  fclose(file);
}

static void put_text(const stick *t, const char *name, const char *text)
{
  put(t, name, text, strlen(text));
}

static void put_bundle(const stick *t, const char *name, const eb_maker_key *key, const char *id, int revision)
{
  eb_text text;
  rig_bundle(&text, key, id, "1.0.0", revision);
  put(t, name, text.bytes, text.size);
  eb_text_clear(&text);
}

static void scan(stick *t)
{
  eb_found_list_clear(&t->list);
  if (eb_shelf_scan(t->s.shelf, t->folder, &t->list, &t->s.error) != EB_OK)
    fail_msg("%s: %s", t->s.error.place, t->s.error.message);
}

static const eb_found *found(const stick *t, const char *name)
{
  for (size_t i = 0; i < t->list.count; i++)
    if (strcmp(t->list.found[i].name, name) == 0)
      return &t->list.found[i];
  fail_msg("%s was not looked at", name);
  return NULL;
}

static void refused(const stick *t, const char *name, eb_status status)
{
  const eb_found *f = found(t, name);
  if (f->why.status != status)
    fail_msg("%s: %s and not %s: %s", name, eb_status_word(f->why.status), eb_status_word(status), f->why.message);
}

static void whatever_lies_there_the_rest_is_usable(void **state)
{
  (void)state;
  stick t;
  char path[512], name[300];
  eb_text text;
  eb_maker_key nine = rig_key(1, "Bench Nine");
  stick_new(&t);
  put_bundle(&t, "good.evenbore", &nine, "twin-nine", 1);
  put_bundle(&t, "shadow.evenbore", &nine, "v8-coupled", 1);
  put_bundle(&t, "alike.evenbore", &nine, "in1ine-four", 1);
  rig_bundle(&text, &nine, "yard-twin", "1.0.0", 1);
  put(&t, "cut.evenbore", text.bytes, text.size - 40);
  eb_text_add(&text, "more");
  put(&t, "behind.evenbore", text.bytes, text.size);
  char *letter = strstr(text.bytes, "Slacken");
  *letter = 's';
  put(&t, "changed.evenbore", text.bytes, text.size - 4);
  eb_text_clear(&text);
  put_text(&t, "empty.evenbore", "");
  put_text(&t, "other.evenbore", "{\"format\": 3}");
  put_text(&t, "twice.evenbore", "{\n\"format\":\"evenbore-bundle\",\n\"format\":\"evenbore-bundle\"\n}\n");
  put_text(&t, "notes.txt", "notes");
  put_text(&t, "bad\x1b[2J.evenbore", "x");
  put_text(&t, "\xE2\x80\xAEx.evenbore", "x");
  put_text(&t, "\xFF.evenbore", "x");
  put_text(&t, ".hidden.evenbore", "x");
  memset(name, 'n', 200);
  snprintf(name + 200, sizeof name - 200, ".evenbore");
  put_text(&t, name, "x");
  char *huge = calloc(1, EB_BUNDLE_MAX + 2);
  put(&t, "huge.evenbore", huge, EB_BUNDLE_MAX + 1);
  memset(huge, '[', EB_BUNDLE_MAX);
  static const char beginning[] = "{\n\"format\":\"evenbore-bundle\",\n\"version\":";
  memcpy(huge, beginning, sizeof beginning - 1);
  put(&t, "deep.evenbore", huge, EB_BUNDLE_MAX);
  free(huge);
  snprintf(path, sizeof path, "%s/link.evenbore", t.folder);
  assert_int_equal(symlink("good.evenbore", path), 0);
  snprintf(path, sizeof path, "%s/nowhere.evenbore", t.folder);
  assert_int_equal(symlink("/nowhere/at/all", path), 0);
  snprintf(path, sizeof path, "%s/pipe.evenbore", t.folder);
  assert_int_equal(mkfifo(path, 0644), 0);
  snprintf(path, sizeof path, "%s/folder.evenbore", t.folder);
  assert_int_equal(mkdir(path, 0755), 0);
  scan(&t);
  refused(&t, "good.evenbore", EB_OK);
  refused(&t, "shadow.evenbore", EB_SHADOWS);
  refused(&t, "alike.evenbore", EB_LOOKALIKE);
  refused(&t, "cut.evenbore", EB_BAD_FORM);
  refused(&t, "behind.evenbore", EB_BAD_FORM);
  refused(&t, "changed.evenbore", EB_BAD_PAYLOAD);
  refused(&t, "empty.evenbore", EB_NOT_BUNDLE);
  refused(&t, "other.evenbore", EB_NOT_BUNDLE);
  refused(&t, "twice.evenbore", EB_BAD_FORM);
  refused(&t, "bad\x1b[2J.evenbore", EB_BAD_TEXT);
  refused(&t, "\xE2\x80\xAEx.evenbore", EB_BAD_TEXT);
  refused(&t, "\xFF.evenbore", EB_BAD_TEXT);
  refused(&t, ".hidden.evenbore", EB_BAD_TEXT);
  refused(&t, name, EB_BAD_TEXT);
  refused(&t, "huge.evenbore", EB_OUT_OF_RANGE);
  refused(&t, "deep.evenbore", EB_BAD_FORM);
  refused(&t, "link.evenbore", EB_BAD_VALUE);
  refused(&t, "nowhere.evenbore", EB_BAD_VALUE);
  refused(&t, "pipe.evenbore", EB_BAD_VALUE);
  refused(&t, "folder.evenbore", EB_BAD_VALUE);
  assert_int_equal(t.list.others, 1);
  assert_false(found(&t, "good.evenbore")->there);
  assert_int_equal(rig_add(&t.s, &nine, "twin-nine", "1.0.0", 1), EB_OK);
  scan(&t);
  assert_true(found(&t, "good.evenbore")->there);
  stick_end(&t);
}

static void two_that_look_alike_are_both_refused(void **state)
{
  (void)state;
  stick t;
  eb_maker_key nine = rig_key(1, "Bench Nine"), other = rig_key(2, "Bench Nine");
  stick_new(&t);
  put_bundle(&t, "a.evenbore", &nine, "yard-link", 1);
  put_bundle(&t, "b.evenbore", &other, "yard-1ink", 1);
  put_bundle(&t, "c.evenbore", &other, "yard-twin", 1);
  scan(&t);
  refused(&t, "a.evenbore", EB_LOOKALIKE);
  refused(&t, "b.evenbore", EB_LOOKALIKE);
  refused(&t, "c.evenbore", EB_OK);
  stick_end(&t);
}

static void statements_are_looked_at_too(void **state)
{
  (void)state;
  stick t;
  eb_text text;
  eb_maker_key nine = rig_key(1, "Bench Nine"), thief = rig_key(9, "Bench Nine");
  eb_maker maker = rig_maker(&nine);
  stick_new(&t);
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_revocation_write(eb_host_system(), &maker, &nine, EB_KEY_LOST, "", &text, &t.s.error), EB_OK);
  put(&t, "own.evenbore", text.bytes, text.size);
  eb_text_reset(&text);
  assert_int_equal(eb_revocation_write(eb_host_system(), &maker, &thief, EB_KEY_LOST, "", &text, &t.s.error), EB_OK);
  put(&t, "thief.evenbore", text.bytes, text.size);
  eb_text_clear(&text);
  scan(&t);
  refused(&t, "own.evenbore", EB_OK);
  assert_true(found(&t, "own.evenbore")->is_statement);
  refused(&t, "thief.evenbore", EB_STRANGER);
  stick_end(&t);
}

static void a_folder_without_end_is_cut(void **state)
{
  (void)state;
  stick t;
  char name[64];
  stick_new(&t);
  for (int i = 0; i < EB_SHELF_FOUND_MAX + 5; i++) {
    snprintf(name, sizeof name, "%d.evenbore", i);
    put_text(&t, name, "x");
  }
  scan(&t);
  assert_int_equal(t.list.count, EB_SHELF_FOUND_MAX);
  assert_true(t.list.cut);
  stick_end(&t);
}

static void what_is_no_folder_is_said(void **state)
{
  (void)state;
  stick t;
  eb_found_list list;
  char path[512];
  stick_new(&t);
  put_text(&t, "x", "x");
  snprintf(path, sizeof path, "%s/x", t.folder);
  assert_int_equal(eb_shelf_scan(t.s.shelf, path, &list, &t.s.error), EB_BAD_VALUE);
  assert_int_equal(eb_shelf_scan(t.s.shelf, "/nowhere/at/all", &list, &t.s.error), EB_NOT_FOUND);
  stick_end(&t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whatever_lies_there_the_rest_is_usable),
      cmocka_unit_test(two_that_look_alike_are_both_refused),
      cmocka_unit_test(statements_are_looked_at_too),
      cmocka_unit_test(a_folder_without_end_is_cut),
      cmocka_unit_test(what_is_no_folder_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
