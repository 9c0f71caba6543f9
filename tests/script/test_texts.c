/* The functions that scripts have for texts and tables.  Where a name is Lua's own, the
 * expected value follows the Lua 5.4 Reference Manual, 6.4 (strings) and 6.6 (tables). */
#include "rig.h"

static void expect(const char *expression, const char *json)
{
  script_rig rig;
  const char *value = rig_value(&rig, expression);
  if (strcmp(value, json) != 0)
    fail_msg("%s gives %s instead of %s", expression, value, json);
}

static void texts(void **state)
{
  (void)state;
  expect("('aBc'):upper(), ('aBC'):lower(), ('abc'):len(), #'abc'", "[\"ABC\",\"abc\",3,3]");
  expect("('\xC3\xA4'):upper()", "[\"\xC3\xA4\"]");
  expect("('abcde'):sub(2, 3), ('abcde'):sub(-2), ('abcde'):sub(4, 2), ('abcde'):sub(0)",
         "[\"bc\",\"de\",\"\",\"abcde\"]");
  expect("('abc'):byte(), ('abc'):byte(-1)", "[97,99]");
  expect("{ ('abc'):byte(1, -1) }", "[[97,98,99]]");
  expect("{ ('abc'):byte(2, 99) }, { ('abc'):byte(9) }", "[[98,99],{}]");
  expect("{ ('abc'):byte(math.mininteger, math.maxinteger) }", "[[97,98,99]]");
  expect("pcall(string.byte, ('a'):rep(251), 1, 251)", "[false,\"string.byte: 251 bytes at once; at most 250\"]");
  expect("string.char(72, 105)", "[\"Hi\"]");
  expect("('ab'):rep(3), ('ab'):rep(3, '-'), ('ab'):rep(0), ('ab'):rep(-1), ('ab'):rep(1, 'x')",
         "[\"ababab\",\"ab-ab-ab\",\"\",\"\",\"ab\"]");
  expect("#('a'):rep(65536), pcall(string.rep, 'a', 65537)",
         "[65536,false,\"string.rep: the text would be longer than 65536 bytes\"]");
  expect("#('a'):rep(32768, 'b'), #('a'):rep(21846, 'bb')", "[65535,65536]");
  expect("string.format('%d|%5.2f|%-4s|%04d|%x|%%|%s|%q', 3, 2.5, 'ab', 7, 255, {}, 'a\"')",
         "[\"3| 2.50|ab  |0007|ff|%|table|\\\"a\\\\\\\"\\\"\"]");
  expect("string.format('%s', 1.0), string.format('%d', 3.0), pcall(string.format, '%d', 'x')",
         "[\"1.0\",\"3\",false,\"bad argument #2 to '?' (number expected, got string)\"]");
  expect("pcall(string.format, '%s')", "[false,\"bad argument #2 to '?' (no value)\"]");
}

/* Ours: no patterns. */
static void find_split_trim(void **state)
{
  (void)state;
  expect("{ ('a.b.c'):find('.') }, { ('a.b.c'):find('.', 3) }, { ('abc'):find('c', -1) }", "[[2,2],[4,4],[3,3]]");
  expect("('abc'):find('x') == nil, ('abc'):find('a', 2) == nil, ('abc'):find('a', 99) == nil", "[true,true,true]");
  expect("{ ('abc'):find('') }, { ('abc'):find('', 4) }, { (''):find('') }", "[[1,0],[4,3],[1,0]]");
  expect("('a,b,,c'):split(','), (''):split(','), (','):split(','), ('a--b'):split('--')",
         "[[\"a\",\"b\",\"\",\"c\"],[\"\"],[\"\",\"\"],[\"a\",\"b\"]]");
  expect("pcall(string.split, 'a', '')", "[false,\"string.split: an empty text cannot stand between pieces\"]");
  expect("('  a b\\t\\n'):trim(), ('   '):trim(), (''):trim()", "[\"a b\",\"\",\"\"]");
}

static void tables(void **state)
{
  (void)state;
  expect("(function() local t = { 1, 3 } table.insert(t, 2, 2) table.insert(t, 4) return t end)()", "[[1,2,3,4]]");
  expect("pcall(table.insert, { 1 }, 3, 1)", "[false,\"table.insert: position 3 is outside of 1 to 2\"]");
  expect("pcall(table.insert, { 1 })", "[false,\"table.insert: a table, perhaps a position, and a value are needed\"]");
  expect("(function() local t = { 1, 2, 3 } local a, b = table.remove(t), table.remove(t, 1) return { a, b, t } end)()",
         "[[3,1,[2]]]");
  expect("table.remove({}) == nil, pcall(table.remove, { 1 }, 5)",
         "[true,false,\"table.remove: position 5 is outside of 1 to 1\"]");
  expect("table.concat({ 1, 'a', 2.5 }, ', '), table.concat({}), table.concat({ 1, 2, 3 }, '-', 2, 3)",
         "[\"1, a, 2.5\",\"\",\"2-3\"]");
  expect("pcall(table.concat, { 1, {} })",
         "[false,\"table.concat: element 2 is a table; texts and numbers can be joined\"]");
  expect("table.concat({ [math.maxinteger] = 'x' }, '', math.maxinteger, math.maxinteger)", "[\"x\"]");
  expect("{ table.unpack({ 1, 2, 3 }) }, { table.unpack({ 1, 2, 3 }, 2) }, { table.unpack({ 1 }, 1, 0) }",
         "[[1,2,3],[2,3],{}]");
  expect("(function() local t = {} for i = 1, 250 do t[i] = i end return select('#', table.unpack(t)) end)()", "[250]");
  expect("pcall(table.unpack, {}, 1, 251)", "[false,\"table.unpack: too many values at once; at most 250\"]");
}

static void sort_is_stable(void **state)
{
  (void)state;
  expect("(function() local t = { 3, 1, 2 } table.sort(t) return t end)()", "[[1,2,3]]");
  expect("(function() local t = { 'b', 'B', 'a', '' } table.sort(t) return t end)()", "[[\"\",\"B\",\"a\",\"b\"]]");
  expect("(function() local t, s = {}, '' for i = 1, 100 do t[i] = { i % 7, i } end "
         "table.sort(t, function(a, b) return a[1] < b[1] end) "
         "for i = 2, 100 do if t[i - 1][1] > t[i][1] or (t[i - 1][1] == t[i][1] and t[i - 1][2] > t[i][2]) then return "
         "i end end "
         "return 'in order' end)()",
         "[\"in order\"]");
  expect("(function() local t = { 1, 2, 3, 4, 5 } table.sort(t, function() return false end) return t end)()",
         "[[1,2,3,4,5]]");
  expect("(function() local t = { 5, 4, 3, 2, 1 } local ok = pcall(table.sort, t, function() error 'no' end) return { "
         "ok, t } end)()",
         "[[false,[5,4,3,2,1]]]");
  expect("(function() local t = { 1, 'a' } return { pcall(table.sort, t) } end)()",
         "[[false,\"attempt to compare string with number\"]]");
  expect("(function() local t = {} table.sort(t) return t end)()", "[{}]");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(texts),
      cmocka_unit_test(find_split_trim),
      cmocka_unit_test(tables),
      cmocka_unit_test(sort_is_stable),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
