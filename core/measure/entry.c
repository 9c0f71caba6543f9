#include "evenbore/quantity.h"

#include "shown.h"

#include "evenbore/text.h"

#include <assert.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { ENTRY_SIZE_MAX = 64, DIGITS_MAX = 15 };

/* What is still to be read. */
typedef struct cursor {
  const char *at;
  const char *end;
} cursor;

/* A reader of a part of the number returns why it is wrong, NULL where it is right. */
static const char no_number[] = "this is no number; write one such as 6.5 or 6 1/2";
static const char too_many_digits[] = "a number has at most 15 digits here";

static bool take(cursor *in, const char *word)
{
  size_t size = strlen(word);
  if ((size_t)(in->end - in->at) < size || memcmp(in->at, word, size) != 0)
    return false;
  in->at += size;
  return true;
}

static bool take_space(cursor *in)
{
  /* The last three are the no-break space, the thin space and the narrow no-break space, which keyboards and
   * copied text put between a number and its unit. */
  static const char *const spaces[] = {" ", "\t", "\n", "\r", "\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\xAF"};
  for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++)
    if (take(in, spaces[i]))
      return true;
  return false;
}

static void skip_spaces(cursor *in)
{
  while (take_space(in)) {
  }
}

static bool digit_at(const cursor *in, ptrdiff_t offset)
{
  return in->end - in->at > offset && in->at[offset] >= '0' && in->at[offset] <= '9';
}

static bool char_at(const cursor *in, char c)
{
  return in->at < in->end && *in->at == c;
}

/* Appends digits to `number`, which stays exact up to DIGITS_MAX of them; returns how many there were. */
static int take_digits(cursor *in, uint64_t *number)
{
  int count = 0;
  for (; digit_at(in, 0); in->at++) {
    if (++count <= DIGITS_MAX)
      *number = *number * 10 + (uint64_t)(*in->at - '0');
  }
  return count;
}

/* "/2" behind its numerator */
static const char *take_denominator(cursor *in, uint64_t numerator, double *value)
{
  uint64_t denominator = 0;
  in->at++;
  if (take_digits(in, &denominator) > DIGITS_MAX)
    return too_many_digits;
  if (denominator == 0)
    return "a fraction over zero has no value; write one such as 1/2";
  *value = (double)numerator / (double)denominator;
  return NULL;
}

/* Decimals behind the point or comma.  Both the digits and the power of ten are
 * exact, so the quotient is the double nearest to what was typed. */
static const char *take_decimals(cursor *in, uint64_t whole, int whole_digits, double *value)
{
  bool comma = char_at(in, ',');
  in->at++;
  uint64_t number = whole;
  cursor start = *in;
  uint64_t unused = 0;
  int decimals = take_digits(&start, &unused);
  if (decimals == 0)
    return whole_digits == 0 ? no_number : "digits are missing behind the decimal point";
  if (whole_digits + decimals > DIGITS_MAX)
    return too_many_digits;
  if (comma && decimals == 3 && whole_digits > 0 && (whole_digits > 1 || whole > 0))
    return "three digits behind a comma can be read two ways; write 1234 or 1.234";
  take_digits(in, &number);
  uint64_t power = 1;
  for (int i = 0; i < decimals; i++)
    power *= 10;
  *value = (double)number / (double)power;
  return NULL;
}

static bool take_vulgar(cursor *in, double *value)
{
  static const struct {
    const char *character;
    double value;
  } vulgar[] = {{"\xC2\xBC", 0.25}, {"\xC2\xBD", 0.5}, {"\xC2\xBE", 0.75}};
  for (size_t i = 0; i < sizeof vulgar / sizeof vulgar[0]; i++)
    if (take(in, vulgar[i].character)) {
      *value = vulgar[i].value;
      return true;
    }
  return false;
}

/* The rest of "6 1/2" or "6½" behind the 6.  "850 1/min" goes on with a unit instead. */
static const char *take_mixed(cursor *in, uint64_t whole, double *value)
{
  cursor next = *in;
  skip_spaces(&next);
  double part = 0;
  *value = (double)whole;
  if (take_vulgar(&next, &part)) {
    *in = next;
  } else if (next.at > in->at && digit_at(&next, 0)) {
    uint64_t numerator = 0;
    if (take_digits(&next, &numerator) > DIGITS_MAX)
      return too_many_digits;
    if (!char_at(&next, '/'))
      return "a space stands inside the number; write 6500, or 6 1/2 for a fraction";
    if (!digit_at(&next, 1))
      return NULL;
    const char *wrong = take_denominator(&next, numerator, &part);
    if (wrong != NULL)
      return wrong;
    if (part >= 1)
      return "the fraction behind a whole number is less than one, as in 6 1/2";
    *in = next;
  }
  *value += part;
  return NULL;
}

static const char *take_number(cursor *in, double *value)
{
  if (take_vulgar(in, value))
    return NULL;
  uint64_t whole = 0;
  int digits = take_digits(in, &whole);
  if (digits > DIGITS_MAX)
    return too_many_digits;
  if (char_at(in, '.') || char_at(in, ','))
    return take_decimals(in, whole, digits, value);
  if (digits == 0)
    return no_number;
  if (char_at(in, '/') && digit_at(in, 1))
    return take_denominator(in, whole, value);
  return take_mixed(in, whole, value);
}

static const char *take_signed(cursor *in, double *value)
{
  bool negative = take(in, "-") || take(in, "\xE2\x88\x92"); /* or U+2212, the minus sign proper */
  if (!negative)
    (void)take(in, "+");
  double amount = 0;
  const char *wrong = take_number(in, &amount);
  if (wrong == NULL)
    *value = negative && amount > 0 ? -amount : amount;
  return wrong;
}

static eb_status check_text(const char *text, size_t size, eb_error *error)
{
  if (size > ENTRY_SIZE_MAX)
    return eb_fail(error, EB_BAD_TEXT, "", "the entry is %zu bytes long; a number with its unit needs at most %d", size,
                   (int)ENTRY_SIZE_MAX);
  size_t bad = 0;
  if (!eb_utf8_valid(text, size, &bad))
    return eb_fail(error, EB_BAD_TEXT, "", "byte %zu of the entry is not UTF-8; write a number such as 6.5", bad + 1);
  cursor in = {text, text + size};
  while (in.at < in.end) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(in.at, (size_t)(in.end - in.at), &c);
    if (take_space(&in))
      continue;
    if (eb_char_unprintable(c))
      return eb_fail(error, EB_BAD_TEXT, "",
                     "the entry holds the unprintable character U+%04X; write a number such as 6.5", (unsigned)c);
    in.at += length;
  }
  return EB_OK;
}

static void trim(cursor *in)
{
  skip_spaces(in);
  const char *last = in->at;
  for (cursor walk = *in; walk.at < walk.end;)
    if (!take_space(&walk)) {
      walk.at++;
      last = walk.at;
    }
  in->end = last;
}

static bool is_exponent(cursor in)
{
  if (!take(&in, "e") && !take(&in, "E"))
    return false;
  if (!take(&in, "+"))
    (void)take(&in, "-");
  return digit_at(&in, 0);
}

static bool is_more_number(cursor in)
{
  double unused = 0;
  return digit_at(&in, 0) || memchr(".,/+-'", *in.at, 6) != NULL || take(&in, "\xE2\x88\x92") ||
         take_vulgar(&in, &unused);
}

/* Why what stands behind a number is no unit but a wrong way to write the number; NULL where it may be a unit. */
static const char *not_a_unit(const cursor *rest)
{
  if (is_exponent(*rest))
    return "write the number out, without an exponent";
  if (char_at(rest, 'x') || char_at(rest, 'X'))
    return "write a decimal number such as 16";
  if (is_more_number(*rest))
    return "this is more than one number; write one, such as 6.5 or 6 1/2";
  return NULL;
}

/* The unit behind the number; `wanted` where nothing stands there. */
static eb_status read_unit(const cursor *rest, eb_quantity quantity, const char *wanted, const char *shown,
                           const char **symbol, eb_error *error)
{
  char name[ENTRY_SIZE_MAX + 1];
  size_t size = (size_t)(rest->end - rest->at);
  assert(size < sizeof name);
  memcpy(name, rest->at, size);
  name[size] = '\0';
  if (size == 0)
    return eb_unit_symbol(quantity, wanted, symbol, error);
  eb_status status = eb_unit_symbol(quantity, name, symbol, error);
  const char *wrong = status == EB_OK ? NULL : not_a_unit(rest);
  return wrong == NULL ? status : eb_fail(error, EB_BAD_VALUE, "", "\"%s\": %s", shown, wrong);
}

eb_status eb_entry_read(const char *text, size_t size, eb_quantity quantity, const char *unit, eb_entry *entry,
                        eb_error *error)
{
  eb_status status = check_text(text, size, error);
  if (status != EB_OK)
    return status;
  cursor in = {text, text + size};
  trim(&in);
  if (in.at == in.end)
    return eb_fail(error, EB_BAD_VALUE, "", "nothing was typed; write a number such as 6.5 or 6 1/2");
  char shown[SHOWN_SIZE];
  measure_shown(in.at, (size_t)(in.end - in.at), shown);
  eb_entry made = {0};
  const char *wrong = take_signed(&in, &made.given);
  if (wrong != NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "\"%s\": %s", shown, wrong);
  skip_spaces(&in);
  const char *symbol = NULL;
  status = read_unit(&in, quantity, unit, shown, &symbol, error);
  if (status == EB_OK)
    status = eb_unit_convert(quantity, made.given, symbol, unit, &made.value, error);
  if (status != EB_OK)
    return status;
  snprintf(made.unit, sizeof made.unit, "%s", symbol);
  *entry = made;
  return EB_OK;
}
