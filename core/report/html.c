#include "html.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *reference(char c)
{
  switch (c) {
  case '&': return "&amp;";
  case '<': return "&lt;";
  case '>': return "&gt;";
  case '"': return "&quot;";
  case '\'': return "&#39;";
  default: return NULL;
  }
}

static void add_escaped(eb_text *page, const char *string)
{
  for (const char *c = string; *c != '\0'; c++) {
    const char *as = reference(*c);
    if (as != NULL)
      eb_text_add(page, as);
    else
      eb_text_add_bytes(page, c, 1);
  }
}

void html_text(eb_text *page, const char *string)
{
  eb_text safe;
  eb_text_init(&safe, page->host);
  eb_text_add_safe(&safe, string, strlen(string), false);
  add_escaped(page, eb_text_string(&safe));
  page->failed = page->failed || safe.failed;
  eb_text_clear(&safe);
}

void html_printf(eb_text *page, const char *format, ...)
{
  char line[4096];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof line, format, arguments);
  va_end(arguments);
  html_text(page, line);
}

void html_cell(eb_text *page, const char *string)
{
  eb_text_add(page, "<td>");
  html_text(page, string);
  eb_text_add(page, "</td>");
}

void html_number(eb_text *page, const char *string)
{
  eb_text_add(page, "<td class=\"n\">");
  html_text(page, string);
  eb_text_add(page, "</td>");
}

void html_record(eb_text *page, size_t record)
{
  eb_text_printf(page, "<td class=\"n r\">%zu</td>", record);
}

void html_table(eb_text *page, const char *caption, const char *const *heads)
{
  eb_text_add(page, "<table><caption>");
  html_text(page, caption);
  eb_text_add(page, "</caption><thead><tr>");
  for (; *heads != NULL; heads++) {
    bool numbers = (*heads)[0] == '>';
    eb_text_add(page, numbers ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">");
    html_text(page, *heads + (numbers ? 1 : 0));
    eb_text_add(page, "</th>");
  }
  eb_text_add(page, "</tr></thead><tbody>\n");
}

void html_table_end(eb_text *page)
{
  eb_text_add(page, "</tbody></table>\n");
}
