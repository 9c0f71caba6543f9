/* The room base: what every other room stands on. Errors, the host, text,
 * JSON and digests; nothing in it knows about engines. */
#include "evenbore/status.h"

#include "evenbore/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *eb_status_word(eb_status status)
{
  switch (status) {
  case EB_OK: return "ok";
  case EB_OUT_OF_MEMORY: return "out-of-memory";
  case EB_BAD_TEXT: return "bad-text";
  case EB_BAD_VALUE: return "bad-value";
  case EB_OUT_OF_RANGE: return "out-of-range";
  case EB_BAD_UNIT: return "bad-unit";
  case EB_BAD_LAYOUT: return "bad-layout";
  case EB_NOT_FOUND: return "not-found";
  case EB_EXISTS: return "exists";
  case EB_HELD: return "held";
  case EB_IO: return "io";
  case EB_NO_SPACE: return "no-space";
  case EB_READ_ONLY: return "read-only";
  case EB_DAMAGED: return "damaged";
  case EB_TOO_NEW: return "too-new";
  case EB_NOT_JOURNAL: return "not-a-journal";
  case EB_MISMATCH: return "mismatch";
  case EB_REFUSED: return "refused";
  case EB_BUDGET: return "budget";
  case EB_SCRIPT: return "script";
  case EB_ENDED: return "ended";
  case EB_KEY_OPEN: return "key-open";
  case EB_UNSOLVABLE: return "unsolvable";
  case EB_NOT_BUNDLE: return "not-a-bundle";
  case EB_BAD_FORM: return "form";
  case EB_BAD_PAYLOAD: return "payload";
  case EB_BAD_MANIFEST: return "manifest";
  case EB_BAD_PURPOSE: return "purpose";
  case EB_BAD_SIGNER: return "signer";
  case EB_BAD_SIGNATURE: return "signature";
  case EB_UNTRUSTED: return "untrusted";
  case EB_ROLLBACK: return "rollback";
  case EB_REVOKED: return "revoked";
  case EB_SHADOWS: return "shadows";
  case EB_LOOKALIKE: return "look-alike";
  case EB_OTHER_MAKER: return "other-maker";
  case EB_VERSION_TAKEN: return "version-taken";
  case EB_HANDED_OVER: return "handed-over";
  case EB_STRANGER: return "stranger";
  case EB_FINGERPRINT: return "fingerprint";
  case EB_PASSPHRASE: return "passphrase";
  }
  return "unknown";
}

/* Cuts a filled buffer back to whole UTF-8 characters. */
static void cut_at_character(char *text, size_t room)
{
  size_t size = strlen(text);
  if (size + 1 < room)
    return;
  size_t start = size;
  while (start > 0 && ((unsigned char)text[start - 1] & 0xC0U) == 0x80U)
    start--;
  if (start == 0)
    return;
  unsigned char lead = (unsigned char)text[start - 1];
  size_t wanted = lead >= 0xF0U ? 4 : lead >= 0xE0U ? 3 : lead >= 0xC0U ? 2 : 1;
  if (size - (start - 1) < wanted)
    text[start - 1] = '\0';
}

/* What an author or a file brought along is on its way to somebody's screen: what must not reach it is written out. */
static void make_plain(char *text, size_t room)
{
  char met[sizeof((eb_error *)NULL)->message];
  size_t size = strlen(text), to = 0;
  memcpy(met, text, size + 1);
  for (size_t at = 0, step; at < size; at += step) {
    char one[16];
    uint32_t c = 0;
    step = eb_utf8_decode(met + at, size - at, &c);
    if (step == 0)
      snprintf(one, sizeof one, "\\x%02X", (unsigned char)met[at]);
    else if (eb_char_unprintable(c))
      snprintf(one, sizeof one, "\\u{%X}", (unsigned)c);
    else
      snprintf(one, sizeof one, "%.*s", (int)step, met + at);
    step = step > 0 ? step : 1;
    if (to + strlen(one) >= room)
      break;
    memcpy(text + to, one, strlen(one));
    to += strlen(one);
  }
  text[to] = '\0';
}

eb_status eb_fail(eb_error *error, eb_status status, const char *place, const char *format, ...)
{
  if (error == NULL)
    return status;
  /* The place or an argument may lie in *error itself, when a caller adds to a message. */
  eb_error made = {.status = status};
  snprintf(made.place, sizeof made.place, "%s", place);
  cut_at_character(made.place, sizeof made.place);
  make_plain(made.place, sizeof made.place);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(made.message, sizeof made.message, format, arguments);
  va_end(arguments);
  cut_at_character(made.message, sizeof made.message);
  make_plain(made.message, sizeof made.message);
  *error = made;
  return status;
}

void eb_error_clear(eb_error *error)
{
  *error = (eb_error){.status = EB_OK};
}
