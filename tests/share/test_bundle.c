/* Bundles: made, read, and refused for what is wrong with them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "share/reseal.h"

static eb_text made_sample(void)
{
  eb_text text;
  eb_error error = {.status = EB_OK};
  eb_secret_key key = sample_key(7);
  eb_layout layout = sample_layout();
  eb_manifest manifest = sample_manifest(&layout);
  eb_text_init(&text, eb_host_system());
  if (sample_bundle(eb_host_system(), &manifest, &key, &text, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  return text;
}

static eb_status read_status(const char *text, size_t size, eb_error *error)
{
  eb_bundle bundle = {.host = NULL};
  eb_status status = eb_bundle_read(eb_host_system(), "x.evenbore", text, size, &bundle, error);
  eb_bundle_clear(&bundle);
  return status;
}

static void what_was_packed_is_read(void **state)
{
  (void)state;
  eb_text text = made_sample();
  eb_bundle b;
  eb_error error;
  assert_int_equal(eb_bundle_read(eb_host_system(), "x.evenbore", text.bytes, text.size, &b, &error), EB_OK);
  assert_string_equal(b.manifest.id, "twin");
  assert_string_equal(b.manifest.maker, "Bench Nine");
  assert_string_equal(b.manifest.key.text, sample_key(7).public_key.text);
  assert_int_equal(b.manifest.revision, 3);
  assert_int_equal(b.manifest.instrument_count, 2);
  assert_string_equal(b.manifest.instruments[1], "thermometer");
  assert_string_equal(b.manifest.hazards[0],
                      "The fan runs on for two minutes after the engine has stopped: keep hands away.");
  assert_int_equal(b.manifest.layout_count, 1);
  assert_int_equal(b.manifest.layouts[0].bore_count, 2);
  assert_true(b.manifest.rehearsed);
  assert_int_equal(b.manifest.figures.even, 196);
  assert_int_equal(b.source_count, 2);
  assert_string_equal(b.source[0].name, "twin.lua");
  assert_string_equal(b.source[0].text, sample_text);
  assert_int_equal(b.source[0].size, sizeof sample_text - 1);
  assert_string_equal(b.source[1].name, "./lib/ours.lua");
  assert_string_equal(b.source[1].text, sample_library);
  char digest[EB_DIGEST_SIZE];
  eb_digest(text.bytes, text.size, digest);
  assert_string_equal(b.digest, digest);
  eb_bundle_clear(&b);
  eb_text_clear(&text);
}

static void the_same_input_gives_the_same_bytes(void **state)
{
  (void)state;
  eb_text first = made_sample(), second = made_sample();
  assert_int_equal(first.size, second.size);
  assert_memory_equal(first.bytes, second.bytes, first.size);
  eb_text_clear(&first);
  eb_text_clear(&second);
}

static void mail_finds_nothing_to_change(void **state)
{
  (void)state;
  eb_text text = made_sample();
  size_t column = 0;
  for (size_t at = 0; at < text.size; at++) {
    char c = text.bytes[at];
    assert_true(c == '\n' || (c >= 0x20 && c < 0x7F));
    if (c == ' ')
      assert_true(column > 0 && text.bytes[at + 1] != '\n');
    column = c == '\n' ? 0 : column + 1;
    assert_true(column <= 120);
  }
  for (char *line = strtok(text.bytes, "\n"); line != NULL; line = strtok(NULL, "\n"))
    assert_true(strchr(line, ' ') == NULL || strlen(line) <= 72);
  eb_text_clear(&text);
}

/* CR LF for every newline, and what mail adds or takes at the end; nothing else. */
static void line_ends_of_a_transport_are_taken(void **state)
{
  (void)state;
  eb_text text = made_sample(), other;
  eb_error error;
  eb_bundle b;
  eb_text_init(&other, eb_host_system());
  for (size_t at = 0; at < text.size; at++)
    eb_text_add_bytes(&other, text.bytes[at] == '\n' ? "\r\n" : &text.bytes[at], text.bytes[at] == '\n' ? 2 : 1);
  eb_text_add(&other, "\r\n\r\n");
  assert_int_equal(eb_bundle_read(eb_host_system(), "x", other.bytes, other.size, &b, &error), EB_OK);
  char digest[EB_DIGEST_SIZE];
  eb_digest(text.bytes, text.size, digest);
  assert_string_equal(b.digest, digest);
  eb_bundle_clear(&b);
  assert_int_equal(read_status(text.bytes, text.size - 1, &error), EB_OK);
  static const char *const added[] = {" ",      "x",  "\n \n",           "\n-- \nsent from a phone\n",
                                      "\r\t\n", "{}", "\n\n\xEF\xBB\xBF"};
  for (size_t i = 0; i < sizeof added / sizeof added[0]; i++) {
    eb_text_reset(&other);
    eb_text_add(&other, text.bytes);
    eb_text_add(&other, added[i]);
    assert_int_equal(read_status(other.bytes, other.size, &error), EB_BAD_FORM);
  }
  eb_text_clear(&other);
  eb_text_clear(&text);
}

/* Every bit of it, in turn; and every byte gone. */
static void no_changed_bit_is_taken(void **state)
{
  (void)state;
  eb_text text = made_sample();
  eb_error error;
  for (size_t bit = 0; bit < 8 * text.size; bit++) {
    text.bytes[bit / 8] ^= (char)(1U << (bit % 8));
    if (read_status(text.bytes, text.size, &error) == EB_OK)
      fail_msg("bit %zu of byte %zu may be flipped", bit % 8, bit / 8);
    assert_true(error.message[0] != '\0');
    text.bytes[bit / 8] ^= (char)(1U << (bit % 8));
  }
  for (size_t size = 0; size + 1 < text.size; size++)
    assert_int_not_equal(read_status(text.bytes, size, &error), EB_OK);
  assert_int_equal(read_status(text.bytes, text.size, &error), EB_OK);
  eb_text_clear(&text);
}

/* The sample with one piece of its text replaced by another, and what reading it comes to. */
static eb_status with_changed(const char *from, const char *to, eb_error *error)
{
  eb_text text = made_sample(), changed;
  eb_text_init(&changed, eb_host_system());
  const char *at = strstr(text.bytes, from);
  if (at == NULL)
    fail_msg("%s does not stand in the sample", from);
  eb_text_add_bytes(&changed, text.bytes, (size_t)(at - text.bytes));
  eb_text_add(&changed, to);
  eb_text_add(&changed, at + strlen(from));
  eb_status status = read_status(changed.bytes, changed.size, error);
  eb_text_clear(&text);
  eb_text_clear(&changed);
  return status;
}

static void each_part_has_its_own_reason(void **state)
{
  (void)state;
  eb_error error;
  eb_secret_key other = sample_key(8);
  char signature[EB_SIGNATURE_TEXT_SIZE + 16], good[EB_SIGNATURE_TEXT_SIZE + 16];
  eb_text text = made_sample();
  const char *at = strstr(text.bytes, "\"signature\":");
  snprintf(good, sizeof good, "%.*s", 13 + 88, at);
  eb_text_clear(&text);
  memcpy(signature, good, sizeof good);
  signature[20] = signature[20] == 'A' ? 'B' : 'A';
  assert_int_equal(with_changed("Slacken the nut", "Tighten the nut", &error), EB_BAD_PAYLOAD);
  assert_string_equal(error.message, "lib/ours.lua is not as its maker packed it");
  assert_int_equal(with_changed("\"licence\":\"CC0-1.0\"", "\"licence\":\"CC0-2.0\"", &error), EB_BAD_MANIFEST);
  assert_int_equal(with_changed("\"purpose\":\"bundle\"", "\"purpose\":\"handover\"", &error), EB_BAD_PURPOSE);
  char key[2][128];
  snprintf(key[0], sizeof key[0], "\"bundle\",\n\"key\":\"%s\"", sample_key(7).public_key.text);
  snprintf(key[1], sizeof key[1], "\"bundle\",\n\"key\":\"%s\"", other.public_key.text);
  assert_int_equal(with_changed(key[0], key[1], &error), EB_BAD_SIGNER);
  assert_int_equal(with_changed(good, signature, &error), EB_BAD_SIGNATURE);
}

/* Signed by the maker, but for another purpose: only the mathematics tells. */
static void a_signature_for_something_else_is_told_as_such(void **state)
{
  (void)state;
  eb_text text = made_sample(), manifest;
  eb_error error;
  eb_json *tree = NULL;
  eb_secret_key key = sample_key(7);
  char signature[EB_SIGNATURE_TEXT_SIZE];
  assert_int_equal(eb_json_parse_mail(eb_host_system(), "x", text.bytes, text.size, &tree, &error), EB_OK);
  eb_text_init(&manifest, eb_host_system());
  eb_json_write_mail(&manifest, eb_json_get(tree, "manifest"));
  assert_int_equal(eb_sign(eb_host_system(), EB_FOR_HANDOVER, manifest.bytes, manifest.size, &key, signature, &error),
                   EB_OK);
  eb_json_set_string(eb_json_member(tree, "seal"), "signature", signature);
  eb_text_reset(&text);
  eb_json_write_mail(&text, tree);
  assert_int_equal(read_status(text.bytes, text.size, &error), EB_BAD_PURPOSE);
  assert_non_null(strstr(error.message, "signed as a handover"));
  eb_json_destroy(tree);
  eb_text_clear(&manifest);
  eb_text_clear(&text);
}

static void another_form_is_refused(void **state)
{
  (void)state;
  static const struct {
    const char *from, *to;
    eb_status status;
    const char *message;
  } known[] = {
      {"\"format\":\"evenbore-bundle\"", "\"format\":\"evenbore-gauge\"", EB_NOT_BUNDLE, "evenbore pack"},
      {"{\n", "[\n", EB_NOT_BUNDLE, "no bundle"},
      {"{\n", "\xEF\xBB\xBF{\n", EB_NOT_BUNDLE, "no bundle"},
      {"\"version\":1", "\"version\":2", EB_TOO_NEW, "newer evenbore"},
      {"\"version\":1", "\"version\":17", EB_TOO_NEW, "newer evenbore"},
      {"\"version\":1", "\"version\":0", EB_BAD_FORM, "version"},
      {"\"version\":1", "\"version\":\"1\"", EB_BAD_FORM, "version"},
      {"\"id\":\"twin\"", "\"id\":\"twin\",\n\"id\":\"twin\"", EB_BAD_FORM, "same key twice"},
      {"\"id\":\"twin\"", "\"id\": \"twin\"", EB_BAD_FORM, "not spelled"},
      {"\"id\":\"twin\"", "\"id\":\"\\u0074win\"", EB_BAD_FORM, "not spelled"},
      {"\"id\":\"twin\"", "\"id\":\"twin\",\n\"colour\":\"red\"", EB_BAD_FORM, "missing at its place"},
      {"\"id\":\"twin\",\n\"version\":\"1.0.0\"", "\"version\":\"1.0.0\",\n\"id\":\"twin\"", EB_BAD_FORM, "missing at"},
      {"\"licence\":\"CC0-1.0\",\n", "", EB_BAD_FORM, "\"licence\" is missing"},
      {"\"revision\":3", "\"revision\":3.0", EB_BAD_FORM, "not spelled"},
      {"\"revision\":3", "\"revision\":4", EB_BAD_MANIFEST, "not the one that was sealed"},
      {"\"name\":\"lib/ours.lua\",\n\"text\"", "\"name\":\"lib/theirs.lua\",\n\"text\"", EB_BAD_PAYLOAD, "theirs.lua"},
      {"-- \\u00e4", "-- \\u00E4", EB_BAD_FORM, "not spelled"},
      {"-- \\u00e4", "-- \xC3\xA4", EB_BAD_FORM, "not spelled"},
      {"-- \\u00e4", "-- a\\u0308", EB_BAD_PAYLOAD, "twin.lua"},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    eb_error error = {.status = EB_OK};
    eb_status status = with_changed(known[i].from, known[i].to, &error);
    if (status != known[i].status || strstr(error.message, known[i].message) == NULL)
      fail_msg("%s for %s: %s: %s", known[i].to, known[i].from, eb_status_word(status), error.message);
    assert_int_equal(strncmp(error.place, "x.evenbore", 10), 0);
  }
}

/* One change of the tree, and what the bundle comes to when its own maker has signed that. */
static eb_status signed_with(void (*change)(eb_json *tree), eb_error *error)
{
  eb_text text = made_sample();
  eb_json *tree = NULL;
  assert_int_equal(eb_json_parse_mail(eb_host_system(), "x", text.bytes, text.size, &tree, error), EB_OK);
  change(tree);
  assert_true(reseal(tree));
  eb_text_reset(&text);
  eb_json_write_mail(&text, tree);
  assert_false(text.failed);
  eb_status status = read_status(text.bytes, text.size, error);
  eb_json_destroy(tree);
  eb_text_clear(&text);
  return status;
}

static eb_json *manifest_of(eb_json *tree)
{
  return eb_json_member(tree, "manifest");
}

static void rename_file(eb_json *tree, int index, const char *name)
{
  eb_json_set_string(eb_json_element(eb_json_member(manifest_of(tree), "files"), index), "name", name);
  eb_json_set_string(eb_json_element(eb_json_member(tree, "sources"), index), "name", name);
}

static const char *new_name;
static void rename_first(eb_json *tree)
{
  rename_file(tree, 0, new_name);
}
static void rename_second(eb_json *tree)
{
  rename_file(tree, 1, new_name);
}

static void names_that_lead_elsewhere_are_refused(void **state)
{
  (void)state;
  static const char *const first[] = {
      "twin.LUA", "twin", "other.lua", "../twin.lua", "/twin.lua", "lib/twin.lua", "./twin.lua", "tw\xD1\x96n.lua", ""};
  static const char *const second[] = {
      "ours.lua",         "lib/../ours.lua",
      "lib/.lua",         "lib/a/b.lua",
      "lib/ours.lua.lua", "lib/..lua",
      "lib//ours.lua",    "lib/\xD0\xBEurs.lua",
      "lib/a b.lua",      "lib/ours.so",
      "lib\\ours.lua",    "lib/aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa.lua"};
  eb_error error;
  for (size_t i = 0; i < sizeof first / sizeof first[0]; i++) {
    new_name = first[i];
    if (signed_with(rename_first, &error) != EB_BAD_FORM)
      fail_msg("\"%s\" is taken: %s", new_name, error.message);
  }
  for (size_t i = 0; i < sizeof second / sizeof second[0]; i++) {
    new_name = second[i];
    if (signed_with(rename_second, &error) != EB_BAD_FORM)
      fail_msg("\"%s\" is taken: %s", new_name, error.message);
  }
  new_name = "lib/any-Other_1.lua";
  assert_int_equal(signed_with(rename_second, &error), EB_OK);
}

static int files_wanted;
static bool same_but_for_case;
static void fill_with_files(eb_json *tree)
{
  eb_json *files = eb_json_member(manifest_of(tree), "files"), *sources = eb_json_member(tree, "sources");
  while (eb_json_count(sources) < files_wanted) {
    char name[40];
    snprintf(name, sizeof name, same_but_for_case ? "lib/OURS.lua" : "lib/n%d.lua", eb_json_count(sources));
    eb_json *file = eb_json_copy(eb_json_at(files, 1)), *source = eb_json_copy(eb_json_at(sources, 1));
    eb_json_set_string(file, "name", name);
    eb_json_set_string(source, "name", name);
    assert_true(eb_json_add(files, file) && eb_json_add(sources, source));
  }
}

static void limits_hold_where_they_stand(void **state)
{
  (void)state;
  eb_error error;
  files_wanted = EB_BUNDLE_FILES_MAX;
  assert_int_equal(signed_with(fill_with_files, &error), EB_OK);
  files_wanted = EB_BUNDLE_FILES_MAX + 1;
  assert_int_equal(signed_with(fill_with_files, &error), EB_BAD_FORM);
  assert_non_null(strstr(error.message, "65 sources"));
  files_wanted = 3;
  same_but_for_case = true;
  assert_int_equal(signed_with(fill_with_files, &error), EB_BAD_FORM);
  same_but_for_case = false;
  char *large = malloc(EB_BUNDLE_MAX + 1);
  assert_non_null(large);
  memset(large, '\n', EB_BUNDLE_MAX + 1);
  assert_int_equal(read_status(large, EB_BUNDLE_MAX + 1, &error), EB_OUT_OF_RANGE);
  assert_int_equal(read_status(large, EB_BUNDLE_MAX, &error), EB_NOT_BUNDLE);
  free(large);
}

static eb_status made_of(const char *text, eb_error *error)
{
  eb_text made;
  eb_secret_key key = sample_key(7);
  eb_layout layout = sample_layout();
  eb_manifest manifest = sample_manifest(&layout);
  eb_source source = {.name = "x.lua", .text = text, .size = strlen(text)};
  eb_text_init(&made, eb_host_system());
  eb_status status = eb_bundle_make(eb_host_system(), &manifest, &source, 1, &key, &made, error);
  assert_true((status == EB_OK) == (made.size > 0));
  eb_text_clear(&made);
  return status;
}

static void nothing_is_made_that_nobody_could_read(void **state)
{
  (void)state;
  eb_error error;
  char *text = calloc(1, EB_PROCEDURE_SOURCE_MAX + 2);
  assert_non_null(text);
  memset(text, '\n', EB_BUNDLE_LINES_MAX);
  assert_int_equal(made_of(text, &error), EB_OK);
  text[EB_BUNDLE_LINES_MAX] = '\n';
  assert_int_equal(made_of(text, &error), EB_OUT_OF_RANGE);
  assert_non_null(strstr(error.message, "4097 lines"));
  memset(text, 'x', EB_PROCEDURE_SOURCE_MAX);
  assert_int_equal(made_of(text, &error), EB_OK);
  text[EB_PROCEDURE_SOURCE_MAX] = 'x';
  assert_int_equal(made_of(text, &error), EB_OUT_OF_RANGE);
  assert_int_equal(made_of("", &error), EB_OUT_OF_RANGE);
  assert_int_equal(made_of("\xFF", &error), EB_BAD_TEXT);
  free(text);
}

static const char *bad_key, *bad_text;
static void set_text(eb_json *tree)
{
  eb_json_set_string(manifest_of(tree), bad_key, bad_text);
}

static void a_manifest_beyond_its_limits_is_refused_though_it_is_signed(void **state)
{
  (void)state;
  static const char *const wrong[][2] = {{"id", "Twin"},
                                         {"id", "a/b"},
                                         {"id", ""},
                                         {"title", ""},
                                         {"title", "a\nb"},
                                         {"title", "\x1B[2J"},
                                         {"title", "a\xE2\x80\xAE"},
                                         {"version", "1234567890123456789012345678901234567890"},
                                         {"licence", "\x7F"},
                                         {"hazards", "none"},
                                         {"layouts", "x"},
                                         {"api", "1"},
                                         {"revision", "3"},
                                         {"rehearsal", "good"}};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_error error = {.status = EB_OK};
    bad_key = wrong[i][0];
    bad_text = wrong[i][1];
    if (signed_with(set_text, &error) != EB_BAD_FORM)
      fail_msg("%s \"%s\" is taken: %s", bad_key, bad_text, error.message);
  }
}

/* Memory that runs out at any moment is said, and nothing is lost. */
typedef struct scarce {
  int left;
} scarce;

static void *allocate_scarcely(void *context, void *block, size_t size)
{
  scarce *s = context;
  if (size > 0 && s->left-- <= 0)
    return NULL;
  return eb_host_system()->allocate(NULL, block, size);
}

static void memory_that_runs_out_is_said(void **state)
{
  (void)state;
  eb_text text = made_sample();
  eb_status status = EB_OUT_OF_MEMORY;
  int allowed = 0;
  for (; status != EB_OK; allowed++) {
    scarce s = {.left = allowed};
    eb_host host = *eb_host_system();
    eb_bundle bundle = {.host = NULL};
    host.context = &s;
    host.allocate = allocate_scarcely;
    status = eb_bundle_read(&host, "x", text.bytes, text.size, &bundle, NULL);
    assert_true(status == EB_OK || status == EB_OUT_OF_MEMORY);
    eb_bundle_clear(&bundle);
  }
  assert_true(allowed > 5);
  eb_text_clear(&text);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_was_packed_is_read),
      cmocka_unit_test(the_same_input_gives_the_same_bytes),
      cmocka_unit_test(mail_finds_nothing_to_change),
      cmocka_unit_test(line_ends_of_a_transport_are_taken),
      cmocka_unit_test(no_changed_bit_is_taken),
      cmocka_unit_test(each_part_has_its_own_reason),
      cmocka_unit_test(a_signature_for_something_else_is_told_as_such),
      cmocka_unit_test(another_form_is_refused),
      cmocka_unit_test(names_that_lead_elsewhere_are_refused),
      cmocka_unit_test(limits_hold_where_they_stand),
      cmocka_unit_test(nothing_is_made_that_nobody_could_read),
      cmocka_unit_test(a_manifest_beyond_its_limits_is_refused_though_it_is_signed),
      cmocka_unit_test(memory_that_runs_out_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
