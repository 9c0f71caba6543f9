/* Fingerprints: what two people read to one another over a telephone. */
#include "evenbore/digest.h"
#include "evenbore/maker.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

enum { GROUPS = 8, GROUP_DIGITS = 5, DIGITS = GROUPS * GROUP_DIGITS, HASH_BYTES = 32 };

/* H. M. Damm's quasigroup of order 10: see maker.h. */
static const unsigned char quasigroup[10][10] = {
    {0, 3, 1, 7, 5, 9, 8, 6, 4, 2}, {7, 0, 9, 2, 1, 5, 4, 8, 6, 3}, {4, 2, 0, 6, 8, 7, 1, 3, 5, 9},
    {1, 7, 5, 0, 9, 8, 3, 4, 2, 6}, {6, 1, 2, 3, 0, 4, 5, 9, 7, 8}, {3, 6, 7, 4, 2, 0, 9, 5, 8, 1},
    {5, 8, 6, 9, 7, 2, 0, 1, 3, 4}, {8, 9, 4, 5, 3, 6, 2, 0, 1, 7}, {9, 4, 3, 8, 6, 1, 7, 2, 0, 5},
    {2, 5, 8, 1, 4, 3, 6, 7, 9, 0},
};

/* Over the group's number, from 1, and `count` digits as characters. */
static char check_digit(int group, const char *digits, int count)
{
  unsigned interim = quasigroup[0][group];
  for (int i = 0; i < count; i++)
    interim = quasigroup[interim][digits[i] - '0'];
  return (char)('0' + interim);
}

static void hash_of(const eb_public_key *key, unsigned char hash[HASH_BYTES])
{
  static const char line[] = "evenbore fingerprint 1\n";
  unsigned char bytes[sizeof line - 1 + EB_KEY_BYTES];
  char digest[EB_DIGEST_SIZE];
  memcpy(bytes, line, sizeof line - 1);
  eb_public_key_bytes(key, bytes + sizeof line - 1);
  eb_digest(bytes, sizeof bytes, digest);
  for (int i = 0; i < HASH_BYTES; i++) {
    unsigned byte = 0;
    sscanf(digest + 2 * (ptrdiff_t)i, "%2x", &byte);
    hash[i] = (unsigned char)byte;
  }
}

/* Divides a big-endian number in place. */
static unsigned divide(unsigned char number[HASH_BYTES], unsigned divisor)
{
  unsigned rest = 0;
  for (int i = 0; i < HASH_BYTES; i++) {
    unsigned part = rest * 256 + number[i];
    number[i] = (unsigned char)(part / divisor);
    rest = part % divisor;
  }
  return rest;
}

void eb_fingerprint(const eb_public_key *key, char text[EB_FINGERPRINT_SIZE])
{
  unsigned char hash[HASH_BYTES];
  hash_of(key, hash);
  for (int group = GROUPS; group > 0; group--) {
    char *at = text + (ptrdiff_t)(group - 1) * (GROUP_DIGITS + 1);
    char digits[GROUP_DIGITS];
    snprintf(digits, sizeof digits, "%04u", divide(hash, 10000) % 10000);
    memcpy(at, digits, GROUP_DIGITS - 1);
    at[GROUP_DIGITS - 1] = check_digit(group, digits, GROUP_DIGITS - 1);
    at[GROUP_DIGITS] = group == GROUPS ? '\0' : ' ';
  }
}

/* The digits of what was typed; -1 where something else than digits and what parts them stands in it. */
static int digits_of(const char *typed, char digits[DIGITS + 1])
{
  int count = 0;
  for (const char *c = typed; *c != '\0'; c++) {
    if (strchr(" \t.-", *c) != NULL)
      continue;
    if (!isdigit((unsigned char)*c))
      return -1;
    if (count < DIGITS)
      digits[count] = *c;
    count++;
  }
  digits[count < DIGITS ? count : DIGITS] = '\0';
  return count;
}

eb_status eb_fingerprint_check(const eb_public_key *key, const char *typed, eb_error *error)
{
  char digits[DIGITS + 1], right[EB_FINGERPRINT_SIZE], wanted[DIGITS + 1];
  int count = digits_of(typed, digits);
  if (count <= 0)
    return eb_fail(error, EB_FINGERPRINT, "",
                   "this is no fingerprint; type the %d digits that the maker tells you by telephone or on paper",
                   (int)DIGITS);
  if (count != DIGITS)
    return eb_fail(error, EB_FINGERPRINT, "", "these are %d digits; a fingerprint has %d, in %d groups of %d", count,
                   (int)DIGITS, (int)GROUPS, (int)GROUP_DIGITS);
  for (int group = 1; group <= GROUPS; group++)
    if (check_digit(group, digits + (ptrdiff_t)(group - 1) * GROUP_DIGITS, GROUP_DIGITS) != '0')
      return eb_fail(error, EB_FINGERPRINT, "", "group %d cannot be right: its digits do not check; hear it again",
                     group);
  eb_fingerprint(key, right);
  digits_of(right, wanted);
  if (strcmp(digits, wanted) != 0)
    return eb_fail(error, EB_FINGERPRINT, "",
                   "this is a fingerprint, but not of the key that lies here; ask the maker which key is meant, and "
                   "take nothing made with this one until you know");
  return EB_OK;
}
