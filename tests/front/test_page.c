#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "keys.h"
#include "page.h"

#include "evenbore/format.h"

static void check_paragraph(int columns, bool utf8, const char *text, const char *wanted)
{
  eb_page page;
  eb_page_init(&page, eb_host_system(), columns, utf8, false);
  eb_page_paragraph(&page, EB_PLAIN, "- ", "  ", text);
  assert_string_equal(eb_text_string(&page.text), wanted);
  eb_page_clear(&page);
}

static void paragraphs_are_wrapped_at_spaces(void **state)
{
  (void)state;
  check_paragraph(40, true, "one two three four five six seven eight",
                  "- one two three four five six seven\n  eight\n");
  check_paragraph(40, true, "first\n\nthird", "- first\n\n  third\n");
  check_paragraph(40, true, "", "\n");
  /* No column more than there is room for, and none lost: 38 behind the indent. */
  check_paragraph(40, true, "12345678901234567890123456789012345678", "- 12345678901234567890123456789012345678\n");
  check_paragraph(40, true, "123456789012345678901234567890123456789",
                  "- 12345678901234567890123456789012345678\n  9\n");
  check_paragraph(40, true, "  kept indent", "-   kept indent\n");
}

static void wide_and_combining_characters_take_their_columns(void **state)
{
  (void)state;
  /* 19 wide characters fill 38 columns. */
  check_paragraph(40, true, "中中中中中中中中中中中中中中中中中中中中",
                  "- 中中中中中中中中中中中中中中中中中中中\n  中\n");
  check_paragraph(40, true, "é1234567890123456789012345678901234567 x",
                  "- é1234567890123456789012345678901234567\n  x\n");
}

static void ascii_spells_what_the_screen_cannot_show(void **state)
{
  (void)state;
  check_paragraph(80, false, "6.25 ±0.1 × 3 – 92 °C, 92°C ≤ 5 µm → é 中",
                  "- 6.25 +/-0.1 x 3 - 92 deg C, 92 deg C <= 5 um -> ? ?\n");
}

static void control_characters_are_spelled_out(void **state)
{
  (void)state;
  check_paragraph(80, true, "a\x1B[2Jb\rc\xFF\xE2\x80\xAE", "- a\\u{1B}[2Jb\\u{D}c\\xFF\\u{202E}\n");
}

static void widths_stay_between_40_and_80(void **state)
{
  (void)state;
  eb_page page;
  eb_page_init(&page, eb_host_system(), 7, true, false);
  assert_int_equal(page.columns, 40);
  eb_page_init(&page, eb_host_system(), 300, true, false);
  assert_int_equal(page.columns, 80);
}

static void cells_are_cut_and_filled(void **state)
{
  (void)state;
  eb_page page;
  eb_page_init(&page, eb_host_system(), 80, true, false);
  eb_page_cell(&page, EB_PLAIN, "abc", 5);
  eb_page_cell(&page, EB_PLAIN, "abc", -5);
  eb_page_cell(&page, EB_PLAIN, "abcdef", 4);
  eb_page_cell(&page, EB_PLAIN, "±1", 4);
  eb_page_end(&page);
  assert_string_equal(eb_text_string(&page.text), "abc    abcabc…±1\n");
  eb_page_clear(&page);
}

static void numbers_read_the_same_everywhere(void **state)
{
  (void)state;
  char text[EB_FORMAT_SIZE];
  assert_string_equal(eb_format_plain(6.25, text), "6.25");
  assert_string_equal(eb_format_plain(-40, text), "-40");
  assert_string_equal(eb_format_plain(0.0508, text), "0.0508");
  assert_string_equal(eb_format_plain(-0.00000001, text), "0");
  assert_string_equal(eb_format_plain(1e15, text), "1.000e+15");
  assert_string_equal(eb_format_fixed(6.249, 2, text), "6.25");
  assert_string_equal(eb_format_percent(0.0914, true, text), "+9.1 %");
  assert_string_equal(eb_format_percent(-0.0004, true, text), "+0.0 %");
  assert_string_equal(eb_format_percent(0.05, false, text), "5 %");
}

static void times_are_read_with_their_offset(void **state)
{
  (void)state;
  char text[EB_FORMAT_SIZE];
  assert_string_equal(eb_format_date("2026-03-04T05:06:07.089+01:00", text), "2026-03-04 05:06");
  assert_string_equal(eb_format_clock("2026-03-04T05:06:07.089+01:00", text), "05:06");
  assert_string_equal(eb_format_date("yesterday", text), "?");
  /* The same moment in three spellings. */
  assert_int_equal(eb_format_time_ms("2026-03-04T05:06:07.089+01:00"), 1772597167000);
  assert_int_equal(eb_format_time_ms("2026-03-04T04:06:07Z"), 1772597167000);
  assert_int_equal(eb_format_time_ms("2026-03-03T23:36:07-04:30"), 1772597167000);
  assert_int_equal(eb_format_time_ms(""), 0);
}

static void check_key(const char *line, bool words, eb_key key, const char *rest)
{
  const char *met = NULL;
  size_t size = 0;
  assert_int_equal(eb_key_read(line, strlen(line), words, &met, &size), key);
  assert_int_equal(size, strlen(rest));
  assert_memory_equal(met, rest, size);
}

static void keys_stand_alone_on_a_line(void **state)
{
  (void)state;
  check_key("-", false, EB_KEY_BACK, "");
  check_key(" Back ", false, EB_KEY_BACK, "");
  check_key("-3", false, EB_KEY_NONE, "-3");
  check_key("- 3", false, EB_KEY_NONE, "- 3");
  check_key("+ idle hunts", false, EB_KEY_NOTE, "idle hunts");
  check_key("note  idle hunts ", false, EB_KEY_NOTE, "idle hunts");
  check_key("note the rich smell", true, EB_KEY_NONE, "note the rich smell");
  check_key("note", true, EB_KEY_NOTE, "");
  check_key("/", false, EB_KEY_CHART, "");
  check_key("//", false, EB_KEY_PAUSE, "");
  check_key("--", false, EB_KEY_STOP, "");
  check_key("stop no parts", false, EB_KEY_STOP, "no parts");
  check_key("**", false, EB_KEY_HELP, "");
  check_key("*", false, EB_KEY_WHY, "");
  check_key("why not", false, EB_KEY_NONE, "why not");
  check_key(" \t ", false, EB_KEY_EMPTY, "");
  check_key("6 1/2", false, EB_KEY_NONE, "6 1/2");
  assert_string_equal(eb_key_nearest("bakc"), "back");
  assert_null(eb_key_nearest("6.25"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(paragraphs_are_wrapped_at_spaces),
      cmocka_unit_test(wide_and_combining_characters_take_their_columns),
      cmocka_unit_test(ascii_spells_what_the_screen_cannot_show),
      cmocka_unit_test(control_characters_are_spelled_out),
      cmocka_unit_test(widths_stay_between_40_and_80),
      cmocka_unit_test(cells_are_cut_and_filled),
      cmocka_unit_test(numbers_read_the_same_everywhere),
      cmocka_unit_test(times_are_read_with_their_offset),
      cmocka_unit_test(keys_stand_alone_on_a_line),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
