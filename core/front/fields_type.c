/* Fields from the command line and back to a person. */
#include "fields.h"

#include "evenbore/format.h"
#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { KEY_SIZE = 64, LINE_SIZE = 1200, NAMES_MAX = 40, WORDS_SHOWN = 100 };

/* The words as a message points at them. */
static eb_status refuse(const char *words, eb_status status, const char *wrong, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  size_t size = strlen(words);
  bool cut = size > WORDS_SHOWN;
  size = cut ? WORDS_SHOWN : size;
  while (cut && size > 0 && ((unsigned char)words[size] & 0xC0U) == 0x80U)
    size--;
  snprintf(place, sizeof place, "%.*s%s", (int)size, words, cut ? "..." : "");
  return eb_fail(error, status, place, "%s", wrong);
}

static bool takes_any_key(const eb_field *field)
{
  return field->kind == EB_FIELD_TEXTS || field->kind == EB_FIELD_VALUES;
}

/* Whether a person can set it: "learned" only to take it out. */
static bool typed_as(const eb_field *field, const char *key)
{
  char name[EB_FIELD_NAME_SIZE];
  if (field->kind == EB_FIELD_LIST || (field->kind == EB_FIELD_GROUP && !field->own) ||
      (field->own && field->group[0] != '\0'))
    return false;
  return strcmp(field->key, key) == 0 || strcmp(eb_field_name(field, name), key) == 0;
}

/* *inner: the free key behind "bores." or "layout.", inside of `key`; NULL: there is none. */
static const eb_field *find(const eb_format *format, const char *key, const char **inner)
{
  const char *dot = strchr(key, '.');
  *inner = NULL;
  for (size_t i = 0; i < format->count; i++) {
    const eb_field *field = &format->fields[i];
    if (!takes_any_key(field) && typed_as(field, key))
      return field;
    size_t size = strlen(field->key);
    if (takes_any_key(field) && dot != NULL && dot[1] != '\0' && (size_t)(dot - key) == size &&
        memcmp(key, field->key, size) == 0) {
      *inner = dot + 1;
      return field;
    }
  }
  return NULL;
}

static eb_status unknown(const eb_format *format, const char *words, const char *key, eb_error *error)
{
  char names[NAMES_MAX][EB_FIELD_NAME_SIZE];
  const char *near_names[NAMES_MAX];
  char wrong[300];
  size_t count = 0;
  for (size_t i = 0; i < format->count && count < NAMES_MAX; i++) {
    const eb_field *field = &format->fields[i];
    if (!typed_as(field, field->key))
      continue;
    if (takes_any_key(field))
      snprintf(names[count], sizeof names[count], "%s.%s", field->key, field->group[0] == '\0' ? "NAME" : "");
    else
      snprintf(names[count], sizeof names[count], "%s", field->key);
    near_names[count] = names[count];
    count++;
  }
  const char *near = eb_nearest(key, near_names, count);
  if (near != NULL)
    snprintf(wrong, sizeof wrong, "%s has no \"%.40s\"; did you mean %s?", format->article, key, near);
  else
    snprintf(wrong, sizeof wrong, "%s has no \"%.40s\"; evenbore help %s lists what it has", format->article, key,
             strrchr(format->word, '-') + 1);
  return refuse(words, EB_BAD_VALUE, wrong, error);
}

static eb_json *type_unit(const eb_field *field, const char *typed)
{
  const char *symbol = NULL;
  return eb_json_from_string(eb_unit_symbol(field->quantity, typed, &symbol, NULL) == EB_OK ? symbol : typed);
}

static eb_status type_number(const char *text, size_t size, eb_quantity quantity, const char *unit, double *number,
                             eb_error *error)
{
  eb_entry entry;
  eb_status status = eb_entry_read(text, size, quantity, unit, &entry, error);
  if (status == EB_OK)
    *number = entry.value;
  return status;
}

static eb_status type_pair(const char *typed, eb_json **value, eb_error *error)
{
  const char *dots = strstr(typed, "..");
  double low = 0;
  double high = 0;
  if (dots == NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "two numbers with two points between them are wanted, the lower first");
  eb_status status = type_number(typed, (size_t)(dots - typed), EB_FLOW, "div", &low, error);
  if (status == EB_OK)
    status = type_number(dots + 2, strlen(dots + 2), EB_FLOW, "div", &high, error);
  if (status != EB_OK)
    return status;
  *value = eb_json_array();
  if (!eb_json_add_number(*value, low) || !eb_json_add_number(*value, high)) {
    eb_json_destroy(*value);
    *value = NULL;
  }
  return EB_OK;
}

/* A number, true and false are what they look like; all else is a text. */
static eb_json *type_any(const eb_field *field, const char *typed)
{
  double number = 0;
  if (field->kind == EB_FIELD_VALUES && (strcmp(typed, "true") == 0 || strcmp(typed, "false") == 0))
    return eb_json_from_bool(typed[0] == 't');
  if (field->kind == EB_FIELD_VALUES && type_number(typed, strlen(typed), EB_COUNT, "", &number, NULL) == EB_OK)
    return eb_json_from_number(number);
  return eb_json_from_string(typed);
}

static eb_status type_value(const eb_field *field, const char *typed, eb_json **value, eb_error *error)
{
  double number = 0;
  eb_status status = EB_OK;
  *value = NULL;
  if (field->kind == EB_FIELD_PAIR)
    status = type_pair(typed, value, error);
  else if (field->kind == EB_FIELD_NUMBER || field->kind == EB_FIELD_COUNT || field->kind == EB_FIELD_SHARE)
    status = type_number(typed, strlen(typed), field->kind == EB_FIELD_SHARE ? EB_RATIO : field->quantity, field->unit,
                         &number, error);
  else if (field->kind == EB_FIELD_UNIT)
    *value = type_unit(field, typed);
  else if (takes_any_key(field))
    *value = type_any(field, typed);
  else
    *value = eb_json_from_string(typed);
  if (status == EB_OK && *value == NULL && field->kind != EB_FIELD_PAIR)
    *value = eb_json_from_number(number);
  if (status == EB_OK && *value == NULL)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  return status;
}

/* The object that holds the value, made where it is missing. */
static eb_json *holder(eb_json *file, const char *group)
{
  if (group[0] == '\0')
    return file;
  if (eb_json_get(file, group) == NULL && !eb_json_set(file, group, eb_json_object()))
    return NULL;
  return eb_json_member(file, group);
}

static void take_out(eb_json *file, const char *group, const char *key)
{
  eb_json *object = group[0] == '\0' ? file : eb_json_member(file, group);
  eb_json_remove(object, key);
  if (group[0] != '\0' && eb_json_first(object) == NULL)
    eb_json_remove(file, group);
}

static bool fits(const eb_field *field, const eb_json *value)
{
  if (!takes_any_key(field))
    return eb_field_check(field, value) == EB_OK;
  eb_field text = {.kind = EB_FIELD_TEXT, .high = field->high};
  return !eb_json_is_string(value) || eb_field_check(&text, value) == EB_OK;
}

static eb_status set_value(const eb_field *field, const char *inner, eb_json *file, const char *words,
                           const char *typed, eb_error *error)
{
  eb_error why;
  eb_json *value = NULL;
  char wanted[EB_FIELD_WANTED_SIZE];
  char wrong[EB_FIELD_WANTED_SIZE + 40];
  if (field->own)
    return refuse(words, EB_BAD_VALUE, "this is the program's own part; an empty value takes it out", error);
  eb_status status = type_value(field, typed, &value, &why);
  if (status != EB_OK)
    return refuse(words, status, why.message, error);
  if (!fits(field, value)) {
    eb_json_destroy(value);
    snprintf(wrong, sizeof wrong, "out of range; it is to be %s", eb_field_wanted(field, wanted));
    return refuse(words, EB_OUT_OF_RANGE, wrong, error);
  }
  if (eb_json_set(holder(file, inner == NULL ? field->group : field->key), inner == NULL ? field->key : inner, value))
    return EB_OK;
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

eb_status eb_fields_type(const eb_format *format, eb_json *file, const char *words, eb_error *error)
{
  char key[KEY_SIZE];
  const char *equals = strchr(words, '=');
  const char *inner = NULL;
  size_t bad = 0;
  if (!eb_utf8_valid(words, strlen(words), &bad))
    return eb_fail(error, EB_BAD_TEXT, "", "character %zu of a value is not UTF-8", bad + 1);
  if (equals == NULL || equals == words)
    return refuse(words, EB_BAD_VALUE, "write it as KEY=VALUE, such as notes=\"one line\"", error);
  snprintf(key, sizeof key, "%.*s", (int)(equals - words < KEY_SIZE ? equals - words : KEY_SIZE - 1), words);
  const eb_field *field = find(format, key, &inner);
  if (field == NULL)
    return unknown(format, words, key, error);
  if (equals[1] != '\0')
    return set_value(field, inner, file, words, equals + 1, error);
  take_out(file, inner == NULL ? field->group : field->key, inner == NULL ? field->key : inner);
  return EB_OK;
}

/* A number in the file's own unit, and in the shop's where that is another. */
static void describe_number(const eb_field *field, double value, const eb_habits *habits, char *text, size_t size)
{
  char plain[EB_FORMAT_SIZE];
  char shown[EB_SHOWN_SIZE];
  const char *unit = field->unit == NULL ? "" : field->unit;
  size_t used = (size_t)snprintf(text, size, "%s%s%s", eb_format_plain(value, plain), *unit == '\0' ? "" : " ", unit);
  if (strcmp(eb_habits_unit(habits, field->quantity, unit, value), unit) != 0 &&
      eb_habits_text(habits, field->quantity, value, unit, false, shown, NULL) == EB_OK)
    snprintf(text + used, size - used, " (%s)", shown);
}

static void describe(const eb_field *field, const eb_json *value, const eb_habits *habits, char *text, size_t size)
{
  char number[EB_FORMAT_SIZE];
  char other[EB_FORMAT_SIZE];
  if (field->kind == EB_FIELD_SHARE)
    snprintf(text, size, "%s %%", eb_format_plain(eb_json_as_number(value, 0) * 100, number));
  else if (field->kind == EB_FIELD_PAIR)
    snprintf(text, size, "%s to %s", eb_format_plain(eb_json_as_number(eb_json_at(value, 0), 0), number),
             eb_format_plain(eb_json_as_number(eb_json_at(value, 1), 0), other));
  else if (field->kind == EB_FIELD_NUMBER || field->kind == EB_FIELD_COUNT)
    describe_number(field, eb_json_as_number(value, 0), habits, text, size);
  else if (eb_json_is_bool(value))
    snprintf(text, size, "%s", eb_json_as_bool(value, false) ? "true" : "false");
  else if (eb_json_is_number(value))
    snprintf(text, size, "%s", eb_format_plain(eb_json_as_number(value, 0), number));
  else
    snprintf(text, size, "%s", eb_json_as_string(value, ""));
}

static void show_line(eb_page *page, const char *name, const char *text)
{
  char first[EB_FIELD_NAME_SIZE + KEY_SIZE];
  snprintf(first, sizeof first, "  %-26s ", name);
  eb_page_paragraph(page, EB_PLAIN, first, "                             ", text);
}

/* A key that a person chose is shown made safe: the page trusts what a line begins with. */
static void show_any(eb_page *page, const eb_field *field, const eb_json *object, const eb_habits *habits)
{
  char value[LINE_SIZE];
  char line[LINE_SIZE + 200];
  for (const eb_json *member = eb_json_first(object); member != NULL; member = eb_json_next(member)) {
    describe(field, member, habits, value, sizeof value);
    snprintf(line, sizeof line, "%.150s: %s", eb_json_key(member), value);
    show_line(page, field->key, line);
  }
}

void eb_fields_show(eb_page *page, const eb_format *format, const eb_json *file, const eb_habits *habits)
{
  char name[EB_FIELD_NAME_SIZE];
  char text[LINE_SIZE];
  for (size_t i = 0; i < format->count; i++) {
    const eb_field *field = &format->fields[i];
    const eb_json *object = field->group[0] == '\0' ? file : eb_json_get(file, field->group);
    const eb_json *value = eb_json_get(object, field->key);
    if (value == NULL || field->kind == EB_FIELD_GROUP || field->kind == EB_FIELD_LIST)
      continue;
    if (takes_any_key(field)) {
      show_any(page, field, value, habits);
      continue;
    }
    describe(field, value, habits, text, sizeof text);
    show_line(page, eb_field_name(field, name), text);
  }
}

void eb_fields_help(eb_page *page, const eb_format *format)
{
  for (size_t i = 0; i < format->count; i++) {
    const eb_field *field = &format->fields[i];
    char name[EB_FIELD_NAME_SIZE];
    char wanted[EB_FIELD_WANTED_SIZE];
    char line[LINE_SIZE];
    if (field->kind == EB_FIELD_GROUP || field->kind == EB_FIELD_LIST || field->own)
      continue;
    snprintf(line, sizeof line, "%s: %s%s", field->what, eb_field_wanted(field, wanted),
             field->required ? "; needed" : "");
    show_line(page, eb_field_name(field, name), line);
  }
}
