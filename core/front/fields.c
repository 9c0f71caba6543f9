#include "fields.h"

#include "evenbore/format.h"
#include "evenbore/shop.h"
#include "evenbore/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { POINTER_SIZE = 256, MET_SIZE = 64, KEYS_MAX = 32 };

eb_status eb_fields_refuse(eb_error *error, eb_status status, const eb_looked_at *at, const char *pointer,
                           const char *format, ...)
{
  char place[EB_PLACE_SIZE];
  char message[sizeof error->message];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(message, sizeof message, format, arguments);
  va_end(arguments);
  eb_json_place(at->name, at->text == NULL ? 0 : eb_json_line(at->text, at->size, pointer), place);
  return eb_fail(error, status, place, "%s", message);
}

const char *eb_field_name(const eb_field *field, char name[EB_FIELD_NAME_SIZE])
{
  snprintf(name, EB_FIELD_NAME_SIZE, "%s%s%s", field->group, field->group[0] == '\0' ? "" : ".", field->key);
  return name;
}

/* "mm or thou" */
static void list_words(const char *words, char *list, size_t room)
{
  size_t used = 0;
  list[0] = '\0';
  while (*words != '\0' && used < room) {
    size_t size = strcspn(words, "|");
    bool last = words[size] == '\0';
    bool next_last = !last && strchr(words + size + 1, '|') == NULL;
    int more = snprintf(list + used, room - used, "%.*s%s", (int)size, words, last ? "" : next_last ? " or " : ", ");
    used += more < 0 ? room : (size_t)more;
    words += size + (last ? 0 : 1);
  }
}

static bool is_one_of(const char *words, const char *word)
{
  size_t size = strlen(word);
  while (*words != '\0') {
    size_t own = strcspn(words, "|");
    if (own == size && memcmp(words, word, size) == 0)
      return true;
    words += own + (words[own] == '|');
  }
  return false;
}

const char *eb_field_wanted(const eb_field *field, char wanted[EB_FIELD_WANTED_SIZE])
{
  char low[EB_FORMAT_SIZE];
  char high[EB_FORMAT_SIZE];
  char list[EB_FIELD_WANTED_SIZE / 2];
  eb_format_plain(field->low, low);
  eb_format_plain(field->high, high);
  const char *unit = field->unit == NULL ? "" : field->unit;
  switch (field->kind) {
  case EB_FIELD_TEXT: snprintf(wanted, EB_FIELD_WANTED_SIZE, "a text of 1 to %s characters", high); break;
  case EB_FIELD_NUMBER:
    snprintf(wanted, EB_FIELD_WANTED_SIZE, "a number from %s to %s%s%s", low, high, *unit == '\0' ? "" : " ", unit);
    break;
  case EB_FIELD_COUNT: snprintf(wanted, EB_FIELD_WANTED_SIZE, "a whole number from %s to %s", low, high); break;
  case EB_FIELD_SHARE:
    snprintf(wanted, EB_FIELD_WANTED_SIZE, "a relative number from %s to %s, such as 0.05 for 5 %%", low, high);
    break;
  case EB_FIELD_PAIR:
    snprintf(wanted, EB_FIELD_WANTED_SIZE, "two numbers from %s to %s, the lower first, such as %s", low, high,
             field->example);
    break;
  case EB_FIELD_UNIT:
    list_words(unit, list, sizeof list);
    snprintf(wanted, EB_FIELD_WANTED_SIZE, "%s", list);
    break;
  case EB_FIELD_GROUP: snprintf(wanted, EB_FIELD_WANTED_SIZE, "a table in braces: {...}"); break;
  case EB_FIELD_LIST: snprintf(wanted, EB_FIELD_WANTED_SIZE, "a list of at most %s tables", high); break;
  case EB_FIELD_TEXTS: snprintf(wanted, EB_FIELD_WANTED_SIZE, "a table of texts, such as %s", field->example); break;
  case EB_FIELD_VALUES:
    snprintf(wanted, EB_FIELD_WANTED_SIZE, "a table of texts, numbers, true and false, such as %s", field->example);
    break;
  }
  return wanted;
}

static eb_status check_text(const eb_json *value, double most)
{
  const char *text = eb_json_as_string(value, NULL);
  if (text == NULL)
    return EB_BAD_VALUE;
  double count = 0;
  size_t size = strlen(text);
  for (size_t at = 0; at < size; count++) {
    uint32_t c = 0;
    at += eb_utf8_decode(text + at, size - at, &c);
    if (eb_char_unprintable(c))
      return EB_BAD_VALUE;
  }
  return count >= 1 && count <= most ? EB_OK : EB_OUT_OF_RANGE;
}

static eb_status check_number(const eb_field *field, const eb_json *value)
{
  if (!eb_json_is_number(value))
    return EB_BAD_VALUE;
  double number = eb_json_as_number(value, 0);
  bool whole = field->kind != EB_FIELD_COUNT || !(floor(number) < number);
  return whole && number >= field->low && number <= field->high ? EB_OK : EB_OUT_OF_RANGE;
}

static eb_status check_pair(const eb_field *field, const eb_json *value)
{
  if (!eb_json_is_array(value) || eb_json_count(value) != 2)
    return EB_BAD_VALUE;
  eb_status status = check_number(field, eb_json_at(value, 0));
  if (status == EB_OK)
    status = check_number(field, eb_json_at(value, 1));
  if (status == EB_OK && !(eb_json_as_number(eb_json_at(value, 0), 0) < eb_json_as_number(eb_json_at(value, 1), 0)))
    status = EB_OUT_OF_RANGE;
  return status;
}

eb_status eb_field_check(const eb_field *field, const eb_json *value)
{
  switch (field->kind) {
  case EB_FIELD_TEXT: return check_text(value, field->high);
  case EB_FIELD_NUMBER:
  case EB_FIELD_COUNT:
  case EB_FIELD_SHARE: return check_number(field, value);
  case EB_FIELD_PAIR: return check_pair(field, value);
  case EB_FIELD_UNIT: return is_one_of(field->unit, eb_json_as_string(value, "|")) ? EB_OK : EB_BAD_VALUE;
  case EB_FIELD_LIST:
    return !eb_json_is_array(value) ? EB_BAD_VALUE : eb_json_count(value) > (int)field->high ? EB_OUT_OF_RANGE : EB_OK;
  case EB_FIELD_GROUP:
  case EB_FIELD_TEXTS:
  case EB_FIELD_VALUES: break;
  }
  return eb_json_is_object(value) ? EB_OK : EB_BAD_VALUE;
}

/* What is there, short enough for a message and cut at a character's border. */
static const char *met(const eb_json *value, char text[MET_SIZE])
{
  char *json = eb_json_text(value);
  size_t size = json == NULL ? 0 : strlen(json);
  bool cut = size > MET_SIZE - 4;
  size = cut ? MET_SIZE - 4 : size;
  while (cut && size > 0 && ((unsigned char)json[size] & 0xC0U) == 0x80U)
    size--;
  snprintf(text, MET_SIZE, "%.*s%s", (int)size, json == NULL ? "" : json, cut ? "..." : "");
  eb_json_text_free(json);
  return text;
}

/* POINTER/KEY, the key written as RFC 6901 wants it. */
static void step_to(const char *pointer, const char *key, char longer[POINTER_SIZE])
{
  size_t used = (size_t)snprintf(longer, POINTER_SIZE, "%s/", pointer);
  for (; *key != '\0' && used + 3 < POINTER_SIZE; key++) {
    const char *escape = *key == '~' ? "~0" : *key == '/' ? "~1" : NULL;
    if (escape != NULL)
      used += (size_t)snprintf(longer + used, POINTER_SIZE - used, "%s", escape);
    else
      longer[used++] = *key;
    longer[used] = '\0';
  }
}

static const eb_field *find(const eb_format *format, const char *group, const char *key)
{
  for (size_t i = 0; i < format->count; i++)
    if (strcmp(format->fields[i].group, group) == 0 && strcmp(format->fields[i].key, key) == 0)
      return &format->fields[i];
  return NULL;
}

static eb_status unknown_key(const eb_format *format, const eb_looked_at *at, const char *group, const char *key,
                             const char *pointer, eb_error *error)
{
  const char *keys[KEYS_MAX];
  char list[300] = "";
  size_t count = 0;
  size_t used = 0;
  for (size_t i = 0; i < format->count && count < KEYS_MAX; i++)
    if (strcmp(format->fields[i].group, group) == 0)
      keys[count++] = format->fields[i].key;
  for (size_t i = 0; i < count && used < sizeof list; i++)
    used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", keys[i]);
  const char *near = eb_nearest(key, keys, count);
  const char *who = group[0] == '\0' ? format->article : group;
  if (near != NULL)
    return eb_fields_refuse(error, EB_BAD_VALUE, at, pointer, "%s has no \"%.40s\"; did you mean %s?", who, key, near);
  return eb_fields_refuse(error, EB_BAD_VALUE, at, pointer, "%s has no \"%.40s\"; it has %s", who, key, list);
}

static eb_status wrong_value(const eb_looked_at *at, const eb_field *field, const eb_json *value, eb_status status,
                             const char *pointer, eb_error *error)
{
  char there[MET_SIZE];
  char wanted[EB_FIELD_WANTED_SIZE];
  met(value, there);
  eb_field_wanted(field, wanted);
  bool quoted = eb_json_is_string(value) &&
                (field->kind == EB_FIELD_NUMBER || field->kind == EB_FIELD_COUNT || field->kind == EB_FIELD_SHARE);
  return eb_fields_refuse(error, status, at, pointer, "\"%s\" is %s; it is to be %s%s", field->key, there, wanted,
                          quoted ? ", without quotes" : "");
}

/* Members by any key: texts alone, or all that is plain. */
static eb_status check_any(const eb_looked_at *at, const eb_field *field, const eb_json *object, const char *pointer,
                           eb_error *error)
{
  for (const eb_json *member = eb_json_first(object); member != NULL; member = eb_json_next(member)) {
    char longer[POINTER_SIZE];
    char there[MET_SIZE];
    bool text = check_text(member, field->high) == EB_OK;
    bool plain = field->kind == EB_FIELD_VALUES && (eb_json_is_number(member) || eb_json_is_bool(member));
    step_to(pointer, eb_json_key(member), longer);
    if (!text && !plain)
      return eb_fields_refuse(error, EB_BAD_VALUE, at, longer, "\"%.40s\" is %s; it is to be a text of at most %.0f%s",
                              eb_json_key(member), met(member, there), field->high,
                              field->kind == EB_FIELD_VALUES ? " characters, a number, true or false" : " characters");
  }
  return EB_OK;
}

static eb_status check_object(const eb_format *format, const eb_looked_at *at, const char *group, const eb_json *object,
                              const char *pointer, eb_error *error);

/* What stands inside of a value of the right kind. */
static eb_status check_inside(const eb_format *format, const eb_looked_at *at, const eb_field *field,
                              const eb_json *value, const char *pointer, eb_error *error)
{
  if (field->kind == EB_FIELD_GROUP)
    return check_object(format, at, field->key, value, pointer, error);
  if (field->kind == EB_FIELD_TEXTS || field->kind == EB_FIELD_VALUES)
    return check_any(at, field, value, pointer, error);
  if (field->kind != EB_FIELD_LIST)
    return EB_OK;
  int index = 0;
  for (const eb_json *element = eb_json_first(value); element != NULL; element = eb_json_next(element)) {
    char longer[POINTER_SIZE];
    char there[MET_SIZE];
    snprintf(longer, sizeof longer, "%.200s/%d", pointer, index++);
    if (!eb_json_is_object(element))
      return eb_fields_refuse(error, EB_BAD_VALUE, at, longer, "%s is no table in braces", met(element, there));
    eb_status status = check_object(format, at, field->key, element, longer, error);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

static eb_status check_required(const eb_format *format, const eb_looked_at *at, const char *group,
                                const eb_json *object, const char *pointer, eb_error *error)
{
  for (size_t i = 0; i < format->count; i++) {
    const eb_field *field = &format->fields[i];
    char wanted[EB_FIELD_WANTED_SIZE];
    if (field->required && strcmp(field->group, group) == 0 && eb_json_get(object, field->key) == NULL)
      return eb_fields_refuse(error, EB_BAD_VALUE, at, pointer, "%s needs \"%s\", %s",
                              group[0] == '\0' ? format->article : group, field->key, eb_field_wanted(field, wanted));
  }
  return EB_OK;
}

static bool is_head(const char *group, const char *key)
{
  return group[0] == '\0' && (strcmp(key, "format") == 0 || strcmp(key, "version") == 0);
}

static eb_status check_object(const eb_format *format, const eb_looked_at *at, const char *group, const eb_json *object,
                              const char *pointer, eb_error *error)
{
  for (const eb_json *member = eb_json_first(object); member != NULL; member = eb_json_next(member)) {
    char longer[POINTER_SIZE];
    const char *key = eb_json_key(member);
    if (is_head(group, key))
      continue;
    step_to(pointer, key, longer);
    const eb_field *field = find(format, group, key);
    if (field == NULL)
      return unknown_key(format, at, group, key, longer, error);
    eb_status status = eb_field_check(field, member);
    status = status == EB_OK ? check_inside(format, at, field, member, longer, error)
                             : wrong_value(at, field, member, status, longer, error);
    if (status != EB_OK)
      return status;
  }
  return check_required(format, at, group, object, pointer, error);
}

static eb_status check_head(const eb_format *format, const eb_looked_at *at, const eb_json *file, eb_error *error)
{
  const char *word = eb_json_get_string(file, "format", "");
  if (strcmp(word, format->word) != 0)
    return eb_fields_refuse(error, EB_BAD_VALUE, at, word[0] == '\0' ? "" : "/format",
                            "this is no file of %s; it is to begin with {\"format\": \"%s\", \"version\": %d",
                            format->article, format->word, (int)EB_SHOP_VERSION);
  double version = eb_json_get_number(file, "version", 0);
  if (version > EB_SHOP_VERSION)
    return eb_fields_refuse(error, EB_TOO_NEW, at, "/version",
                            "the file is of version %g and this program knows up to %d; a newer evenbore is needed",
                            version, (int)EB_SHOP_VERSION);
  if (version < 1 || floor(version) < version)
    return eb_fields_refuse(error, EB_BAD_VALUE, at, eb_json_get(file, "version") == NULL ? "" : "/version",
                            "the version of the format is missing or wrong; write \"version\": %d",
                            (int)EB_SHOP_VERSION);
  return EB_OK;
}

eb_status eb_fields_check(const eb_format *format, const eb_looked_at *at, const eb_json *file, eb_error *error)
{
  eb_status status = check_head(format, at, file, error);
  return status == EB_OK ? check_object(format, at, "", file, "", error) : status;
}

eb_json *eb_fields_new(const eb_format *format)
{
  eb_json *file = eb_json_object();
  if (eb_json_set_string(file, "format", format->word) && eb_json_set_number(file, "version", EB_SHOP_VERSION))
    return file;
  eb_json_destroy(file);
  return NULL;
}
