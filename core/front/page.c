#include "page.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void eb_page_fit(eb_page *page, int columns)
{
  page->columns = columns < EB_PAGE_COLUMNS_MIN ? EB_PAGE_COLUMNS_MIN : columns;
  if (page->columns > EB_PAGE_COLUMNS_MAX)
    page->columns = EB_PAGE_COLUMNS_MAX;
}

void eb_page_init(eb_page *page, const eb_host *host, int columns, bool utf8, bool styled)
{
  *page = (eb_page){.utf8 = utf8, .styled = styled, .blank = true};
  eb_page_fit(page, columns);
  eb_text_init(&page->text, host);
}

void eb_page_clear(eb_page *page)
{
  eb_text_clear(&page->text);
  page->column = 0;
}

/* What procedures and this program are likely to write, as it is read aloud. */
static const char *spelled(uint32_t c)
{
  static const struct {
    uint32_t c;
    const char *ascii;
  } known[] = {
      {0xA0, " "},    {0xB0, " deg"}, {0xB1, "+/-"},      {0xB5, "u"},    {0xB7, "."},    {0xBD, " 1/2"},
      {0xBC, " 1/4"}, {0xBE, " 3/4"}, {0xD7, "x"},        {0x3BC, "u"},   {0x2010, "-"},  {0x2011, "-"},
      {0x2012, "-"},  {0x2013, "-"},  {0x2014, "-"},      {0x2018, "'"},  {0x2019, "'"},  {0x201C, "\""},
      {0x201D, "\""}, {0x2022, "*"},  {0x2026, "..."},    {0x2032, "'"},  {0x2033, "\""}, {0x2190, "<-"},
      {0x2192, "->"}, {0x2212, "-"},  {0x2248, "about "}, {0x2264, "<="}, {0x2265, ">="}, {0x2009, " "},
      {0x202F, " "},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (known[i].c == c)
      return known[i].ascii;
  return "?";
}

/* "92 °C" and "92°C" both become "92 deg C". */
static void add_spelled(eb_text *text, uint32_t c, char next)
{
  const char *ascii = spelled(c);
  bool after_space = text->size == 0 || text->bytes[text->size - 1] == ' ';
  eb_text_add(text, *ascii == ' ' && after_space && ascii[1] != '\0' ? ascii + 1 : ascii);
  if (c == 0xB0 && (next == 'C' || next == 'F'))
    eb_text_add(text, " ");
}

static size_t character_columns(const char *bytes, size_t length)
{
  char one[5] = {0};
  memcpy(one, bytes, length < 4 ? length : 4);
  return eb_utf8_columns(one);
}

static void make_ascii(eb_text *text)
{
  eb_text made;
  eb_text_init(&made, text->host);
  for (size_t at = 0; at < text->size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(text->bytes + at, text->size - at, &c);
    if (c < 0x80)
      eb_text_add_bytes(&made, text->bytes + at, 1);
    else if (character_columns(text->bytes + at, length) > 0)
      add_spelled(&made, c, text->bytes[at + length]);
    at += length == 0 ? 1 : length;
  }
  made.failed = made.failed || text->failed;
  eb_text_clear(text);
  *text = made;
}

/* The text as this screen can show it. The caller clears *ready. */
static void make_ready(const eb_page *page, const char *text, bool keep_newlines, eb_text *ready)
{
  eb_text_init(ready, page->text.host);
  eb_text_add_safe(ready, text, strlen(text), keep_newlines);
  if (!page->utf8)
    make_ascii(ready);
}

int eb_page_columns(const eb_page *page, const char *text)
{
  eb_text ready;
  make_ready(page, text, false, &ready);
  int columns = (int)eb_utf8_columns(eb_text_string(&ready));
  eb_text_clear(&ready);
  return columns;
}

/* Bytes of the longest beginning that takes at most `columns`; at least one character. */
static size_t fitting_bytes(const char *bytes, size_t size, size_t columns)
{
  size_t at = 0;
  size_t taken = 0;
  while (at < size) {
    uint32_t c;
    size_t length = eb_utf8_decode(bytes + at, size - at, &c);
    if (length == 0)
      length = 1;
    taken += character_columns(bytes + at, length);
    if (taken > columns && at > 0)
      break;
    at += length;
  }
  return at;
}

/* A number stays with its per cent. */
static bool may_break(const char *bytes, size_t size, size_t space)
{
  return bytes[space] == ' ' && (space + 1 >= size || bytes[space + 1] != '%');
}

/* Bytes that go on one line, broken at a space where there is one. */
static size_t line_bytes(const char *bytes, size_t size, size_t columns)
{
  size_t fit = fitting_bytes(bytes, size, columns);
  if (fit == size || may_break(bytes, size, fit))
    return fit;
  size_t cut = fit;
  while (cut > 0 && !may_break(bytes, size, cut - 1))
    cut--;
  return cut > strspn(bytes, " ") ? cut : fit;
}

static const char *style_code(eb_style style)
{
  switch (style) {
  case EB_STRONG: return "\033[1m";
  case EB_ALARM: return "\033[1;33m";
  case EB_GOOD: return "\033[32m";
  case EB_PLAIN: break;
  }
  return "";
}

static void add_styled(eb_page *page, eb_style style, const char *bytes, size_t size)
{
  bool styled = page->styled && style != EB_PLAIN && size > 0;
  if (styled)
    eb_text_add(&page->text, style_code(style));
  eb_text_add_bytes(&page->text, bytes, size);
  if (styled)
    eb_text_add(&page->text, "\033[0m");
}

static void add_line(eb_page *page, eb_style style, const char *indent, const char *bytes, size_t size)
{
  while (size > 0 && bytes[size - 1] == ' ')
    size--;
  if (size > 0)
    eb_text_add(&page->text, indent);
  add_styled(page, style, bytes, size);
  eb_text_add(&page->text, "\n");
  page->blank = size == 0;
}

static const char *add_wrapped(eb_page *page, eb_style style, const char *indent, const char *rest, const char *bytes,
                               size_t size)
{
  do {
    size_t width = (size_t)page->columns - strlen(indent);
    size_t taken = line_bytes(bytes, size, width);
    add_line(page, style, indent, bytes, taken);
    indent = rest;
    bytes += taken;
    size -= taken;
    while (size > 0 && *bytes == ' ') {
      bytes++;
      size--;
    }
  } while (size > 0);
  return indent;
}

void eb_page_paragraph(eb_page *page, eb_style style, const char *first, const char *rest, const char *text)
{
  assert(page->column == 0);
  eb_text ready;
  make_ready(page, text, true, &ready);
  const char *bytes = eb_text_string(&ready);
  const char *indent = first;
  for (;;) {
    size_t size = strcspn(bytes, "\n");
    indent = add_wrapped(page, style, indent, rest, bytes, size);
    if (bytes[size] == '\0' || bytes[size + 1] == '\0')
      break;
    bytes += size + 1;
  }
  page->text.failed = page->text.failed || ready.failed;
  eb_text_clear(&ready);
}

void eb_page_say(eb_page *page, const char *text)
{
  eb_page_paragraph(page, EB_PLAIN, "", "", text);
}

void eb_page_sayf(eb_page *page, const char *format, ...)
{
  char text[1024];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  eb_page_say(page, text);
}

void eb_page_put(eb_page *page, eb_style style, const char *text)
{
  eb_text ready;
  make_ready(page, text, false, &ready);
  add_styled(page, style, eb_text_string(&ready), ready.size);
  page->column += (int)eb_utf8_columns(eb_text_string(&ready));
  page->text.failed = page->text.failed || ready.failed;
  eb_text_clear(&ready);
}

void eb_page_to(eb_page *page, int column)
{
  for (; page->column < column; page->column++)
    eb_text_add(&page->text, " ");
}

void eb_page_cell(eb_page *page, eb_style style, const char *text, int width)
{
  eb_text ready;
  make_ready(page, text, false, &ready);
  int room = abs(width);
  int end = page->column + room;
  int taken = (int)eb_utf8_columns(eb_text_string(&ready));
  if (taken > room) {
    ready.size = fitting_bytes(ready.bytes, ready.size, (size_t)room - 1);
    ready.bytes[ready.size] = '\0';
    eb_text_add(&ready, page->utf8 ? "\xE2\x80\xA6" : "~");
    taken = (int)eb_utf8_columns(eb_text_string(&ready));
  }
  if (width < 0)
    eb_page_to(page, end - taken);
  add_styled(page, style, eb_text_string(&ready), ready.size);
  page->column += taken;
  eb_page_to(page, end);
  page->text.failed = page->text.failed || ready.failed;
  eb_text_clear(&ready);
}

void eb_page_end(eb_page *page)
{
  eb_text *text = &page->text;
  while (text->size > 0 && text->bytes[text->size - 1] == ' ')
    text->bytes[--text->size] = '\0';
  eb_text_add(text, "\n");
  page->blank = page->column == 0;
  page->column = 0;
}

void eb_page_blank(eb_page *page)
{
  if (!page->blank)
    eb_text_add(&page->text, "\n");
  page->blank = true;
}
