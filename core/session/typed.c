/* What a person types, read as the value that the protocol would carry. */
#include "private.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static bool is_word(const char *text, const char *const *words)
{
  for (; *words != NULL; words++)
    if (strcasecmp(text, *words) == 0)
      return true;
  return false;
}

static const char *const yes_words[] = {"1", "yes", "y", NULL};
static const char *const no_words[] = {"0", "no", "n", NULL};
static const char *const done_words[] = {"1", "done", "yes", "y", NULL};
static const char *const not_done_words[] = {"0", "not", "no", "n", NULL};

static eb_status made_or_out(eb_json *value, eb_json **raw, eb_error *error)
{
  *raw = value;
  return value == NULL ? out_of_memory(error) : EB_OK;
}

static eb_status not_understood(const eb_json *ask, eb_error *error)
{
  char wanted[200];
  return eb_fail(error, EB_BAD_VALUE, "", "that is not understood; %s", answer_wanted(ask, wanted, sizeof wanted));
}

static eb_status type_yes_no(const eb_json *ask, const char *text, eb_json **raw, eb_error *error)
{
  const eb_json *preset = eb_json_get(ask, "default");
  if (text[0] == '\0' && preset != NULL)
    return made_or_out(eb_json_copy(preset), raw, error);
  if (is_word(text, yes_words))
    return made_or_out(eb_json_from_bool(true), raw, error);
  if (is_word(text, no_words))
    return made_or_out(eb_json_from_bool(false), raw, error);
  return eb_fail(error, EB_BAD_VALUE, "", "that is neither yes nor no; type 1 for yes or 0 for no");
}

static eb_status type_caution(const eb_json *ask, const char *text, eb_json **raw, eb_error *error)
{
  const char *code = eb_json_get_string(ask, "code", "");
  if (strcmp(text, code) != 0)
    return eb_fail(error, EB_BAD_VALUE, "", "a caution is acknowledged by its code; read all points, then type %s",
                   code);
  return made_or_out(eb_json_from_string(code), raw, error);
}

static eb_status type_choice(const eb_json *ask, const char *text, eb_json **raw, eb_error *error)
{
  const eb_json *options = eb_json_get(ask, "options");
  char *end = NULL;
  long number = strtol(text, &end, 10);
  if (text[0] >= '0' && text[0] <= '9' && *end == '\0' && number >= 1 && number <= eb_json_count(options)) {
    const eb_json *option = eb_json_at(options, (int)number - 1);
    return made_or_out(eb_json_from_string(eb_json_get_string(option, "id", "")), raw, error);
  }
  const eb_json *option = eb_json_first(options);
  for (; option != NULL; option = eb_json_next(option))
    if (strcasecmp(text, eb_json_get_string(option, "id", "")) == 0)
      return made_or_out(eb_json_from_string(eb_json_get_string(option, "id", "")), raw, error);
  return eb_fail(error, EB_BAD_VALUE, "", "that is none of the options; type a number from 1 to %d",
                 eb_json_count(options));
}

static eb_json *with_unit(double value, const char *unit)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_number(made, "value", value) && eb_json_set_string(made, "unit", unit))
    return made;
  eb_json_destroy(made);
  return NULL;
}

static eb_status type_number(const eb_json *ask, const char *text, size_t size, eb_json **raw, eb_error *error)
{
  eb_quantity quantity = EB_FLOW;
  const char *unit = eb_json_get_string(ask, "unit", "");
  eb_status status = EB_OK;
  if (eb_json_get(ask, "quantity") != NULL)
    status = eb_quantity_read(eb_json_get_string(ask, "quantity", ""), &quantity, error);
  eb_entry entry;
  if (status == EB_OK)
    status = eb_entry_read(text, size, quantity, unit, &entry, error);
  if (status != EB_OK)
    return status;
  bool own_unit = strcmp(entry.unit, unit) == 0;
  return made_or_out(own_unit ? eb_json_from_number(entry.value) : with_unit(entry.given, entry.unit), raw, error);
}

/* The text behind the first word; "" where there is none. */
static const char *behind_word(const char *text)
{
  text += strcspn(text, " \t");
  return text + strspn(text, " \t");
}

static bool first_word_is(const char *text, const char *const *words)
{
  char word[16];
  size_t size = strcspn(text, " \t");
  if (size >= sizeof word)
    return false;
  memcpy(word, text, size);
  word[size] = '\0';
  return is_word(word, words);
}

static eb_json *text_member(const char *key, const char *text)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, key, text))
    return made;
  eb_json_destroy(made);
  return NULL;
}

static eb_status type_reading(const eb_json *ask, const char *text, size_t size, eb_json **raw, eb_error *error)
{
  static const char *const unreadable[] = {"00", "unreadable", NULL};
  if (!first_word_is(text, unreadable))
    return type_number(ask, text, size, raw, error);
  const char *why = behind_word(text);
  return made_or_out(text_member("unreadable", why[0] == '\0' ? "no reason given" : why), raw, error);
}

/* The amount that was really moved: `2`, `2 thou`, or `0.05 mm` where thousandths are asked for. */
static eb_status read_amount(const char *rest, const char *unit, eb_entry *entry, eb_error *error)
{
  eb_quantity quantity;
  if (unit == NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "no amount was asked for; type 1 alone, and keep the amount with note");
  if (amount_quantity(unit, &quantity) && eb_entry_read(rest, strlen(rest), quantity, unit, entry, NULL) == EB_OK) {
    const char *symbol = NULL;
    if (eb_unit_symbol(quantity, unit, &symbol, NULL) == EB_OK && strcmp(symbol, entry->unit) == 0)
      snprintf(entry->unit, sizeof entry->unit, "%s", unit);
    return EB_OK;
  }
  size_t size = strlen(rest);
  size_t unit_size = strlen(unit);
  if (size > unit_size && strcmp(rest + size - unit_size, unit) == 0)
    size -= unit_size;
  if (eb_entry_read(rest, size, EB_FLOW, "div", entry, NULL) != EB_OK)
    return eb_fail(error, EB_BAD_VALUE, "", "that is no amount; type 1 and the amount in %s", unit);
  entry->given = entry->value;
  snprintf(entry->unit, sizeof entry->unit, "%s", unit);
  return EB_OK;
}

static eb_status type_done(const eb_json *ask, const char *rest, eb_json **raw, eb_error *error)
{
  const char *unit = eb_json_get_string(eb_json_get(ask, "amount"), "unit", NULL);
  eb_entry entry = {0};
  if (rest[0] != '\0') {
    eb_status status = read_amount(rest, unit, &entry, error);
    if (status != EB_OK)
      return status;
  }
  eb_json *value = eb_json_object();
  bool made = eb_json_set_bool(value, "done", true);
  if (made && rest[0] != '\0')
    made = eb_json_set(value, "amount", with_unit(entry.given, entry.unit));
  if (made) {
    *raw = value;
    return EB_OK;
  }
  eb_json_destroy(value);
  return out_of_memory(error);
}

static eb_status type_not_done(const char *why, eb_json **raw, eb_error *error)
{
  static const char *const usual[] = {"seized", "no travel left", "other"};
  if (why[0] >= '1' && why[0] <= '3' && why[1] == '\0')
    why = usual[why[0] - '1'];
  eb_json *value = eb_json_object();
  if (eb_json_set_bool(value, "done", false) && eb_json_set_string(value, "why", why)) {
    *raw = value;
    return EB_OK;
  }
  eb_json_destroy(value);
  return out_of_memory(error);
}

static eb_status type_kind(const eb_json *ask, const char *text, size_t size, eb_json **raw, eb_error *error)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "number") == 0)
    return type_number(ask, text, size, raw, error);
  if (strcmp(kind, "reading") == 0)
    return type_reading(ask, text, size, raw, error);
  if (strcmp(kind, "choose") == 0)
    return type_choice(ask, text, raw, error);
  if (strcmp(kind, "caution") == 0)
    return type_caution(ask, text, raw, error);
  if (strcmp(kind, "text") == 0)
    return made_or_out(eb_json_from_string(text), raw, error);
  if (strcmp(kind, "adjust") != 0)
    return type_yes_no(ask, text, raw, error);
  if (first_word_is(text, done_words))
    return type_done(ask, behind_word(text), raw, error);
  if (first_word_is(text, not_done_words))
    return type_not_done(behind_word(text), raw, error);
  return not_understood(ask, error);
}

eb_status answer_typed(const eb_json *ask, const char *typed, size_t size, eb_json **raw, eb_error *error)
{
  char text[PROMPT_MAX * 4 + 1];
  while (size > 0 && strchr(" \t\r\n", typed[size - 1]) != NULL)
    size--;
  while (size > 0 && strchr(" \t", typed[0]) != NULL) {
    typed++;
    size--;
  }
  size_t bad = 0;
  if (!eb_utf8_valid(typed, size, &bad))
    return eb_fail(error, EB_BAD_TEXT, "", "character %zu is not UTF-8; type plain digits and letters", bad + 1);
  if (size >= sizeof text)
    return eb_fail(error, EB_BAD_TEXT, "", "that is %zu bytes long; at most %zu are taken", size, sizeof text - 1);
  if (memchr(typed, '\0', size) != NULL)
    return eb_fail(error, EB_BAD_TEXT, "", "that holds a NUL character; type plain digits and letters");
  memcpy(text, typed, size);
  text[size] = '\0';
  return type_kind(ask, text, size, raw, error);
}
