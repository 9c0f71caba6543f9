#include "json_number.h"

#include <limits.h>
#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

__extension__ typedef unsigned __int128 wide;

enum { DIGITS = 15, BITS = 53 /* of a double's mantissa */ };

static const uint64_t ten_to[] = {
    1,
    10,
    100,
    1000,
    10000,
    100000,
    1000000,
    10000000,
    100000000,
    1000000000,
    10000000000,
    100000000000,
    1000000000000,
    10000000000000,
    100000000000000,
    1000000000000000,
    10000000000000000,
    100000000000000000,
    1000000000000000000,
};

/* A number as `whole` over ten to the `places`. */
typedef struct decimal {
  uint64_t whole;
  int places; /* 0 to 18 */
} decimal;

/* Exact: the mantissa times a power of ten has at most 113 bits, and what is shifted out decides. `shift` is 3 to 66.
 */
static uint64_t scaled(uint64_t mantissa, int places, int shift)
{
  wide all = (wide)mantissa * ten_to[places];
  wide rest = all & (((wide)1 << shift) - 1);
  wide half = (wide)1 << (shift - 1);
  uint64_t whole = (uint64_t)(all >> shift);
  return whole + (rest > half || (rest == half && (whole & 1) != 0));
}

/* The first 15 digits of a number from 0.0001 to 1e15, which are those that are written without an exponent. False for
 * another one. */
static bool first_digits(double number, decimal *digits)
{
  if (!(number >= 1e-4 && number < 1e15))
    return false;
  int exponent;
  uint64_t mantissa = (uint64_t)ldexp(frexp(number, &exponent), BITS);
  int places = DIGITS - 1;
  while (number < 1) {
    number *= 10;
    places++;
  }
  for (int i = 1; i < DIGITS && number >= (double)ten_to[i]; i++)
    places--;
  digits->whole = scaled(mantissa, places, BITS - exponent);
  if (digits->whole >= ten_to[DIGITS]) { /* rounding carried */
    if (--places < 0)
      return false;
    digits->whole = scaled(mantissa, places, BITS - exponent);
  }
  digits->places = places;
  return true;
}

/* Both are exact as doubles, so that the quotient is rounded once. */
static double double_of(const decimal *digits)
{
  return (double)digits->whole / (double)ten_to[digits->places];
}

double json_number_kept(double number)
{
  decimal digits;
  if (fabs(number) < 1e15 && floor(number) >= number)
    return number; /* whole, as most are */
  if (first_digits(fabs(number), &digits))
    return copysign(double_of(&digits), number);
  char text[JSON_NUMBER_SIZE];
  snprintf(text, sizeof text, "%.15g", number);
  double rounded = strtod(text, NULL);
  /* The largest doubles would be rounded up to infinity. */
  return isfinite(rounded) ? rounded : copysign(1.79769313486231e308, number);
}

/* The digits of `whole`, at least `least` of them. */
static size_t write_digits(uint64_t whole, int least, char *text)
{
  char backwards[20];
  int count = 0;
  for (; whole > 0 || count < least; whole /= 10)
    backwards[count++] = (char)('0' + whole % 10);
  for (int i = 0; i < count; i++)
    text[i] = backwards[count - 1 - i];
  return (size_t)count;
}

static size_t write_decimal(decimal digits, char *text)
{
  while (digits.places > 0 && digits.whole % 10 == 0) {
    digits.whole /= 10;
    digits.places--;
  }
  size_t size = write_digits(digits.whole / ten_to[digits.places], 1, text);
  if (digits.places > 0) {
    text[size++] = '.';
    size += write_digits(digits.whole % ten_to[digits.places], digits.places, text + size);
  }
  return size;
}

/* Very large and very small ones. */
static size_t write_with_exponent(double number, char text[JSON_NUMBER_SIZE])
{
  snprintf(text, JSON_NUMBER_SIZE, "%.15g", number);
  const char *point = localeconv()->decimal_point;
  char *met = strstr(text, point);
  if (met != NULL) {
    *met = '.';
    memmove(met + 1, met + strlen(point), strlen(met + strlen(point)) + 1);
  }
  return strlen(text);
}

size_t json_number_write(double number, char text[JSON_NUMBER_SIZE])
{
  decimal digits = {0, 0};
  bool whole = fabs(number) <= INT_MAX && floor(number) >= number;
  if (whole)
    digits.whole = (uint64_t)fabs(number);
  else if (!first_digits(fabs(number), &digits))
    return write_with_exponent(number, text);
  size_t sign = number < 0;
  text[0] = '-';
  size_t size = sign + write_decimal(digits, text + sign);
  text[size] = '\0';
  return size;
}
