/* What a page may hold, whatever its journal says. */
#ifndef EB_TESTS_REPORT_MARKUP_H
#define EB_TESTS_REPORT_MARKUP_H

#include "evenbore/text.h"

#include <string.h>

/* Of job_hostile nothing is left but harmless text. */
static inline void markup_is_ours(const char *text)
{
  assert_null(strstr(text, "<script"));
  assert_null(strstr(text, "<img"));
  assert_null(strstr(text, "onload='"));
  assert_null(strstr(text, "\xe2\x80\xae"));
  assert_null(strchr(text, '\x1b'));
  assert_non_null(strstr(text, "&lt;script&gt;alert(1)&lt;/script&gt;"));
  assert_non_null(strstr(text, "\\u{202E}"));
  /* Every < opens a tag that the page is made of. */
  static const char *const tags[] = {
      "!DOCTYPE", "html",  "head",    "meta",  "title",  "style",      "body", "header", "h1", "h2",   "h3",   "dl",
      "dt",       "dd",    "main",    "p",     "figure", "figcaption", "svg",  "desc",   "g",  "rect", "text", "circle",
      "path",     "table", "caption", "thead", "tbody",  "tr",         "th",   "td",     "ul", "li",   "b"};
  for (const char *at = strchr(text, '<'); at != NULL; at = strchr(at + 1, '<')) {
    const char *name = at + (at[1] == '/' ? 2 : 1);
    size_t size = strcspn(name, " />\n");
    bool known = false;
    for (size_t i = 0; i < sizeof tags / sizeof tags[0]; i++)
      known = known || (strlen(tags[i]) == size && memcmp(tags[i], name, size) == 0);
    if (!known)
      fail_msg("met %.40s", at);
  }
}

/* No control character but the ends of lines, none that changes the direction. */
static inline void text_is_printable(const char *text, size_t size)
{
  uint32_t code;
  for (size_t at = 0, step; at < size; at += step) {
    step = eb_utf8_decode(text + at, size - at, &code);
    assert_true(step > 0);
    if (code != '\n' && code != '\r' && eb_char_unprintable(code))
      fail_msg("met U+%04X", (unsigned)code);
  }
}

#endif
