#include "evenbore/format.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { DECIMALS_MAX = 6 };

static const int64_t tens[DECIMALS_MAX + 1] = {1, 10, 100, 1000, 10000, 100000, 1000000};

/* The library may live in a program that has set a locale. */
static void print_exponent(double value, char text[EB_FORMAT_SIZE])
{
  snprintf(text, EB_FORMAT_SIZE, "%.3e", value);
  for (char *c = text; *c != '\0'; c++)
    if (strchr("0123456789+-e", *c) == NULL)
      *c = '.';
}

const char *eb_format_fixed(double value, int decimals, char text[EB_FORMAT_SIZE])
{
  assert(decimals >= 0 && decimals <= DECIMALS_MAX);
  if (fabs(value) >= 1e12) {
    print_exponent(value, text);
    return text;
  }
  int64_t scaled = llround(fabs(value) * (double)tens[decimals]);
  const char *sign = value < 0 && scaled > 0 ? "-" : "";
  int64_t whole = scaled / tens[decimals];
  if (decimals == 0)
    snprintf(text, EB_FORMAT_SIZE, "%s%lld", sign, (long long)whole);
  else
    snprintf(text, EB_FORMAT_SIZE, "%s%lld.%0*lld", sign, (long long)whole, decimals,
             (long long)(scaled % tens[decimals]));
  return text;
}

const char *eb_format_plain(double value, char text[EB_FORMAT_SIZE])
{
  eb_format_fixed(value, DECIMALS_MAX, text);
  if (strchr(text, 'e') != NULL || strchr(text, '.') == NULL)
    return text;
  size_t size = strlen(text);
  while (text[size - 1] == '0')
    size--;
  if (text[size - 1] == '.')
    size--;
  text[size] = '\0';
  return text;
}

const char *eb_format_about(double value, char text[EB_FORMAT_SIZE])
{
  int decimals = 1;
  for (double least = 1; fabs(value) < least && decimals < DECIMALS_MAX; least /= 10)
    decimals++;
  double rounded =
      fabs(value) >= 10 ? round(value) : (double)llround(value * (double)tens[decimals]) / (double)tens[decimals];
  return eb_format_plain(rounded, text);
}

/* A hair is left for what a double does to a tenth of a per cent. */
double eb_format_round_up(double claim)
{
  return ceil(claim * 1000 - 1e-6) / 1000;
}

const char *eb_format_percent(double relative, bool sign, char text[EB_FORMAT_SIZE])
{
  char number[EB_FORMAT_SIZE];
  eb_format_fixed(relative * 100, 1, number);
  if (!sign && strlen(number) > 2 && strcmp(number + strlen(number) - 2, ".0") == 0)
    number[strlen(number) - 2] = '\0';
  snprintf(text, EB_FORMAT_SIZE, "%s%.40s %%", sign && number[0] != '-' ? "+" : "", number);
  return text;
}

static const char *format_object(const eb_json *value, const char *unit, char *text, size_t size)
{
  char number[EB_FORMAT_SIZE];
  const char *why = eb_json_get_string(value, "unreadable", NULL);
  if (why != NULL) {
    snprintf(text, size, "cannot be read: %s", why);
    return text;
  }
  if (eb_json_is_bool(eb_json_get(value, "done"))) {
    if (!eb_json_get_bool(value, "done", false)) {
      snprintf(text, size, "not done: %s", eb_json_get_string(value, "why", "no reason given"));
      return text;
    }
    const eb_json *amount = eb_json_get(value, "amount");
    if (!eb_json_is_object(amount) && !eb_json_is_number(amount)) {
      snprintf(text, size, "done");
      return text;
    }
    char inner[EB_FORMAT_SIZE * 2];
    snprintf(text, size, "done, %s", eb_format_value(amount, "", inner, sizeof inner));
    return text;
  }
  snprintf(text, size, "%s %s", eb_format_plain(eb_json_get_number(value, "value", 0), number),
           eb_json_get_string(value, "unit", unit));
  return text;
}

const char *eb_format_value(const eb_json *value, const char *unit, char *text, size_t size)
{
  char number[EB_FORMAT_SIZE];
  if (eb_json_is_object(value))
    return format_object(value, unit, text, size);
  if (eb_json_is_number(value))
    snprintf(text, size, "%s%s%s", eb_format_plain(eb_json_as_number(value, 0), number), *unit == '\0' ? "" : " ",
             unit);
  else if (eb_json_is_bool(value))
    snprintf(text, size, "%s", eb_json_as_bool(value, false) ? "yes" : "no");
  else
    snprintf(text, size, "%s", eb_json_as_string(value, "nothing"));
  return text;
}

/* Fields of "2026-03-04T05:06:07.089+01:00"; false where the text has another form. */
static bool split_time(const char *time, int field[8], char *sign)
{
  int taken = 0;
  int count = sscanf(time, "%4d-%2d-%2dT%2d:%2d:%2d%n", &field[0], &field[1], &field[2], &field[3], &field[4],
                     &field[5], &taken);
  if (count != 6 || field[1] < 1 || field[1] > 12)
    return false;
  const char *rest = time + taken;
  field[6] = field[7] = 0;
  *sign = '+';
  if (*rest == '.')
    rest += 1 + strspn(rest + 1, "0123456789");
  if (strcmp(rest, "Z") == 0)
    return true;
  return sscanf(rest, "%c%2d:%2d", sign, &field[6], &field[7]) == 3;
}

int64_t eb_format_time_ms(const char *time)
{
  int field[8];
  char sign;
  if (!split_time(time, field, &sign))
    return 0;
  struct tm parts = {.tm_year = field[0] - 1900,
                     .tm_mon = field[1] - 1,
                     .tm_mday = field[2],
                     .tm_hour = field[3],
                     .tm_min = field[4],
                     .tm_sec = field[5]};
  int64_t offset_s = (field[6] * 60 + field[7]) * 60 * (sign == '-' ? -1 : 1);
  return ((int64_t)timegm(&parts) - offset_s) * 1000;
}

const char *eb_format_date(const char *time, char text[EB_FORMAT_SIZE])
{
  int field[8];
  char sign;
  if (split_time(time, field, &sign))
    snprintf(text, EB_FORMAT_SIZE, "%04d-%02d-%02d %02d:%02d", field[0], field[1], field[2], field[3], field[4]);
  else
    snprintf(text, EB_FORMAT_SIZE, "?");
  return text;
}

const char *eb_format_clock(const char *time, char text[EB_FORMAT_SIZE])
{
  eb_format_date(time, text);
  if (strlen(text) == 16)
    memmove(text, text + 11, 6);
  return text;
}
