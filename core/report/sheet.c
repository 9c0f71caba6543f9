#include "sheet.h"

#include "evenbore/format.h"

#include <string.h>

static void separate(sheet *out)
{
  if (out->fields++ > 0)
    eb_text_add(out->text, out->semicolon ? ";" : ",");
}

void sheet_field(sheet *out, const char *string)
{
  eb_text safe;
  eb_text_init(&safe, out->text->host);
  eb_text_add_safe(&safe, string, strlen(string), false);
  const char *text = eb_text_string(&safe);
  separate(out);
  const char *guard = text[0] != '\0' && strchr("=+-@", text[0]) != NULL ? "'" : "";
  bool quoted = guard[0] != '\0' || strpbrk(text, ",;\"") != NULL;
  eb_text_printf(out->text, "%s%s", quoted ? "\"" : "", guard);
  for (const char *c = text; *c != '\0'; c++)
    if (*c == '"')
      eb_text_add(out->text, "\"\"");
    else
      eb_text_add_bytes(out->text, c, 1);
  eb_text_add(out->text, quoted ? "\"" : "");
  out->text->failed = out->text->failed || safe.failed;
  eb_text_clear(&safe);
}

void sheet_number(sheet *out, const char *number)
{
  char text[EB_FORMAT_SIZE];
  separate(out);
  size_t size = strlen(number) < sizeof text ? strlen(number) : sizeof text - 1;
  memcpy(text, number, size);
  text[size] = '\0';
  char *point = strchr(text, '.');
  if (out->semicolon && point != NULL)
    *point = ',';
  eb_text_add(out->text, text);
}

void sheet_end(sheet *out)
{
  eb_text_add(out->text, "\r\n");
  out->fields = 0;
}

void sheet_percent(sheet *out, bool known, double share)
{
  char number[EB_FORMAT_SIZE];
  if (known)
    sheet_number(out, eb_format_fixed(share * 100, 2, number));
  else
    sheet_field(out, "");
}
