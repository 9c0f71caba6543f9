/* What a procedure's text says that it does, found without running it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "lua_words.h"
#include "meaning.h"

static eb_meanings read_text(const char *text)
{
  eb_source source = {.name = "x.lua", .text = text, .size = strlen(text)};
  eb_meanings list;
  eb_meanings_read(eb_host_system(), &source, 1, &list);
  assert_false(list.failed);
  return list;
}

static void check(const eb_meanings *list, size_t index, eb_meaning_kind kind, const char *call, const char *key,
                  const char *words, unsigned line)
{
  assert_true(index < list->count);
  const eb_meaning *m = &list->found[index];
  assert_int_equal(m->kind, kind);
  assert_string_equal(eb_meaning_text(list, m->call), call);
  assert_string_equal(eb_meaning_text(list, m->key), key);
  assert_string_equal(eb_meaning_text(list, m->words), words);
  assert_int_equal(m->line, line);
  assert_string_equal(m->file, "x.lua");
}

static void all_of_a_procedure(void **state)
{
  (void)state;
  eb_meanings list = read_text(
      "return procedure { id = \"x\", title = \"X\",\n"
      "  options = { { id = \"bores\", title = \"Bores\", text = \"How many?\", low = 4 } },\n"
      "  cautions = { \"Hot.\", [[Sharp.]] },\n"
      "  layout = { rows = { { 1, 2 } }, adjusters = {\n"
      "    link { \"link\", { 1 }, { 2 }, title = \"the link\", takes_off = { \"lid\" }, how = \"Turn.\" },\n"
      "    screw { 'one', { 1 } } } },\n"
      "  run = function(job)\n"
      "    job:prepare() -- job:tell \"no\"\n"
      "    local n = job:number { key = \"gap\", title = \"Gap\", text = \"How wide?\", quantity = \"length\",\n"
      "      unit = \"mm\", low = 0, high = 1 }\n"
      "    if n > 0.5 then job:tell(\"Wide.\") end\n"
      "    --[[ job:finish() ]]\n"
      "    job:caution { title = \"Fuel\", hazards = { \"It sprays.\" } }\n"
      "    job:choose { key = 'c', title = \"Which\", text = \"?\", options = { { id = \"a\", text = \"A\" } } }\n"
      "    job : state()\n"
      "  end }\n");
  check(&list, 0, EB_MEANS_PROMPT, "options", "", "Bores | How many?", 2);
  check(&list, 1, EB_MEANS_CAUTION, "cautions", "", "Hot.", 3);
  check(&list, 2, EB_MEANS_CAUTION, "cautions", "", "Sharp.", 3);
  check(&list, 3, EB_MEANS_PART, "link", "link", "lid | Turn.", 5);
  check(&list, 4, EB_MEANS_PART, "screw", "one", "", 6);
  check(&list, 5, EB_MEANS_STEP, "prepare", "", "", 8);
  check(&list, 6, EB_MEANS_PROMPT, "number", "gap", "Gap | How wide?", 9);
  check(&list, 7, EB_MEANS_TELL, "tell", "", "Wide.", 11);
  check(&list, 8, EB_MEANS_CAUTION, "caution", "", "Fuel | It sprays.", 13);
  check(&list, 9, EB_MEANS_PROMPT, "choose", "c", "Which | ? | A", 14);
  assert_int_equal(list.count, 10);
  eb_meanings_clear(&list);
}

/* A shop's own function of that name is none of the job's, nor is what stands in a text. */
static void what_only_looks_like_it(void **state)
{
  (void)state;
  eb_meanings list = read_text("function ours:confirm(t) end\n"
                               "local s = \"job:tell 'x'\" local t = [==[ job:finish() ]] ]==]\n"
                               "local link = 3 link = link + 1 function plate(a) end\n"
                               "job.cautions = nil job:unknown{}\n");
  assert_int_equal(list.count, 0);
  eb_meanings_clear(&list);
}

static void what_is_laid_out_otherwise_is_the_same(void **state)
{
  (void)state;
  eb_meanings a = read_text("job:must{key='k',text=\"T\"}");
  eb_meanings b = read_text("job:must\n  {\n    key = \"k\", -- the key\n    text = [[T]] }");
  eb_meanings c = read_text("job:must{key='k',text=\"T\",low=1}");
  assert_string_equal(eb_meaning_text(&a, a.found[0].whole), eb_meaning_text(&b, b.found[0].whole));
  assert_string_not_equal(eb_meaning_text(&a, a.found[0].whole), eb_meaning_text(&c, c.found[0].whole));
  eb_meanings_clear(&a);
  eb_meanings_clear(&b);
  eb_meanings_clear(&c);
}

/* Texts that stop anywhere end the reading, no more. */
static void any_text_comes_to_its_end(void **state)
{
  (void)state;
  static const char text[] = "x = job:tell{\"a\\\" --[==[ b ]==] cautions = { 'c', [[d]] } link(\"e\", {1.5e3}) --";
  for (size_t size = 0; size <= sizeof text - 1; size++) {
    char *piece = malloc(size + 1);
    assert_non_null(piece);
    memcpy(piece, text, size);
    eb_source source = {.name = "x.lua", .text = piece, .size = size};
    eb_meanings list;
    eb_meanings_read(eb_host_system(), &source, 1, &list);
    assert_false(list.failed);
    eb_meanings_clear(&list);
    free(piece);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_of_a_procedure),
      cmocka_unit_test(what_only_looks_like_it),
      cmocka_unit_test(what_is_laid_out_otherwise_is_the_same),
      cmocka_unit_test(any_text_comes_to_its_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
