#include "evenbore/json.h"
#include "evenbore/text.h"

#include <assert.h>
#include <cjson/cJSON.h>
#include <errno.h>
#include <float.h>
#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool four_digits(const char *text, size_t size)
{
  size_t count = 0;
  while (count < 4 && count < size && text[count] != '\0' && strchr("0123456789abcdefABCDEF", text[count]) != NULL)
    count++;
  return count == 4;
}

/* cJSON accepts more than RFC 8259 (leading zeros, raw control characters) and
 * recurses up to a thousand levels.  One look at the text beforehand refuses
 * what it would take wrongly, so that the tree can be trusted. */
static const char *scan_string(const char *text, size_t size, size_t *at)
{
  for ((*at)++; *at < size; (*at)++) {
    unsigned char c = (unsigned char)text[*at];
    if (c == '"')
      return NULL;
    if (c < 0x20)
      return "a control character stands in a string; write it as an escape";
    if (c != '\\')
      continue;
    (*at)++;
    if (*at >= size || strchr("\"\\/bfnrtu", text[*at]) == NULL)
      return "an unknown escape stands in a string";
    if (text[*at] == 'u' && !four_digits(text + *at + 1, size - *at - 1))
      return "an escape has no four hexadecimal digits behind its u";
    if (text[*at] == 'u' && memcmp(text + *at + 1, "0000", 4) == 0)
      return "a string holds a NUL character";
  }
  return "a string has no closing quote";
}

/* Digits behind leading zeros, at least as many as are significant. */
static int count_digits(const char *number, size_t size)
{
  int digits = 0;
  for (size_t i = 0; i < size && (number[i] | 0x20) != 'e'; i++)
    digits += number[i] >= (digits == 0 ? '1' : '0') && number[i] <= '9';
  return digits;
}

static const char *scan_number(const char *text, size_t size, size_t *at, int *digits_most)
{
  size_t i = *at;
  if (i < size && text[i] == '-')
    i++;
  size_t digits = i;
  while (i < size && text[i] >= '0' && text[i] <= '9')
    i++;
  if (i == digits || (text[digits] == '0' && i - digits > 1))
    return "a number is malformed";
  if (i < size && text[i] == '.') {
    size_t fraction = ++i;
    while (i < size && text[i] >= '0' && text[i] <= '9')
      i++;
    if (i == fraction)
      return "a number is malformed";
  }
  if (i < size && (text[i] == 'e' || text[i] == 'E')) {
    i++;
    if (i < size && (text[i] == '+' || text[i] == '-'))
      i++;
    size_t exponent = i;
    while (i < size && text[i] >= '0' && text[i] <= '9')
      i++;
    if (i == exponent)
      return "a number is malformed";
  }
  if (i - *at > 60) /* cJSON reads at most 63 characters of a number and leaves the rest */
    return "a number is longer than 60 characters";
  int count = count_digits(text + *at, i - *at);
  *digits_most = count > *digits_most ? count : *digits_most;
  *at = i - 1;
  return NULL;
}

static const char *scan(const char *text, size_t size, size_t *at, int *digits_most)
{
  int depth = 0;
  for (; *at < size; (*at)++) {
    const char *wrong = NULL;
    char c = text[*at];
    if (c == '"')
      wrong = scan_string(text, size, at);
    else if (c == '-' || (c >= '0' && c <= '9'))
      wrong = scan_number(text, size, at, digits_most);
    else if (c == '{' || c == '[')
      wrong = ++depth > EB_JSON_DEPTH_MAX ? "the nesting is deeper than 32 levels" : NULL;
    else if (c == '}' || c == ']')
      depth--;
    else if (c == '\0' || ((unsigned char)c < 0x20 && strchr("\t\n\r", c) == NULL))
      wrong = "a control character stands outside a string";
    if (wrong != NULL)
      return wrong;
  }
  return NULL;
}

enum { NUMBER_SIZE = 32 };

/* cJSON prints a number with 15 digits where that is near enough for it, which
 * is not always the same double.  Kept to 15 digits from the start, a number
 * reads back as what it was.  `text` becomes what cJSON would print. */
static double fifteen_digits(double number, char text[NUMBER_SIZE])
{
  bool minus_zero = number >= 0 && signbit(number);
  if (fabs(number) < 1e15 && floor(number) >= number && !minus_zero) {
    snprintf(text, NUMBER_SIZE, "%lld", (long long)number); /* as most are; a third of the work */
    return number;
  }
  snprintf(text, NUMBER_SIZE, "%.15g", number);
  double rounded = strtod(text, NULL);
  if (!isfinite(rounded)) /* the largest doubles would be rounded up to infinity */
    return fifteen_digits(copysign(1.79769313486231e308, number), text);
  char *point = text + strspn(text, "-0123456789");
  if (*point != 'e' && *point != '\0')
    *point = '.'; /* whatever the locale has there */
  return rounded;
}

enum { FEW = 12, MARKS = 1 << 16 };

/* FNV-1a, 32 bits [G. Fowler, L. C. Noll, P. Vo; from memory], folded to a mark. */
static unsigned mark_of(const char *key)
{
  uint32_t hash = 2166136261U;
  for (; *key != '\0'; key++)
    hash = (hash ^ (unsigned char)*key) * 16777619U;
  return (hash ^ hash >> 16) % MARKS;
}

static bool stands_again(const cJSON *member, const cJSON *others)
{
  for (; others != NULL; others = others->next)
    if (others != member && strcmp(member->string, others->string) == 0)
      return true;
  return false;
}

/* In a large object only those members are compared with all others whose mark was set before: a text from a stranger
 * may hold many thousands. */
static bool has_key_twice(const cJSON *object, int members)
{
  if (members <= FEW) {
    for (const cJSON *child = object->child; child != NULL; child = child->next)
      if (stands_again(child, child->next))
        return true;
    return false;
  }
  unsigned char marks[MARKS / 8] = {0};
  for (const cJSON *child = object->child; child != NULL; child = child->next) {
    unsigned mark = mark_of(child->string);
    if ((marks[mark / 8] >> mark % 8 & 1) != 0 && stands_again(child, object->child))
      return true;
    marks[mark / 8] |= (unsigned char)(1U << mark % 8);
  }
  return false;
}

static const char *check_tree(cJSON *value, bool rounds)
{
  if (cJSON_IsNumber(value) && !isfinite(value->valuedouble))
    return "a number is too large";
  if (rounds && cJSON_IsNumber(value))
    value->valuedouble = fifteen_digits(value->valuedouble, (char[NUMBER_SIZE]){0});
  int members = 0;
  for (cJSON *child = value->child; child != NULL; child = child->next) {
    if (++members > EB_JSON_MEMBERS_MAX)
      return "an object or array has more than 4096 members";
    const char *wrong = check_tree(child, rounds);
    if (wrong != NULL)
      return wrong;
  }
  return cJSON_IsObject(value) && has_key_twice(value, members) ? "an object has the same key twice" : NULL;
}

eb_status eb_json_parse(const char *text, size_t size, eb_json **value, eb_error *error)
{
  size_t at = 0;
  int digits_most = 0;
  if (!eb_utf8_valid(text, size, &at))
    return eb_fail(error, EB_BAD_TEXT, "", "byte %zu is not UTF-8", at + 1);
  at = 0;
  const char *wrong = scan(text, size, &at, &digits_most);
  if (wrong != NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "not JSON: %s, at byte %zu", wrong, at + 1);
  const char *end = NULL;
  errno = 0; /* malloc's word is the only one that tells a wrong text from memory that ran out */
  cJSON *tree = cJSON_ParseWithLengthOpts(text, size, &end, 0);
  if (tree == NULL && errno == ENOMEM)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (tree == NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "not JSON, at byte %zu",
                   end == NULL ? (size_t)1 : (size_t)(end - text) + 1);
  while (end < text + size && strchr(" \t\r\n", *end) != NULL)
    end++;
  if (end < text + size)
    wrong = "something follows the value";
  else
    wrong = check_tree(tree, digits_most > DBL_DIG); /* what is written with no more is kept as it is */
  if (wrong != NULL) {
    cJSON_Delete(tree);
    return eb_fail(error, EB_BAD_VALUE, "", "not JSON: %s", wrong);
  }
  *value = tree;
  return EB_OK;
}

static const char *check_shape(const cJSON *value, int level)
{
  if (level > EB_JSON_DEPTH_MAX)
    return "the nesting is deeper than 32 levels";
  int members = 0;
  for (const cJSON *child = value->child; child != NULL; child = child->next) {
    if (++members > EB_JSON_MEMBERS_MAX)
      return "an object or array has more than 4096 members";
    bool nested = cJSON_IsObject(child) || cJSON_IsArray(child);
    const char *wrong = nested ? check_shape(child, level + 1) : NULL;
    if (wrong != NULL)
      return wrong;
  }
  return NULL;
}

eb_status eb_json_check(const eb_json *value, const char *text, size_t size, eb_error *error)
{
  size_t at = 0;
  if (!eb_utf8_valid(text, size, &at))
    return eb_fail(error, EB_BAD_TEXT, "", "byte %zu is not UTF-8", at + 1);
  const char *wrong = check_shape(value, 1);
  return wrong == NULL ? EB_OK : eb_fail(error, EB_BAD_VALUE, "", "not JSON: %s", wrong);
}

void eb_json_allocate_with(void *(*allocate)(size_t size), void (*release)(void *block))
{
  cJSON_InitHooks(&(cJSON_Hooks){.malloc_fn = allocate, .free_fn = release});
}

void eb_json_destroy(eb_json *value)
{
  cJSON_Delete(value);
}

eb_json *eb_json_copy(const eb_json *value)
{
  return cJSON_Duplicate(value, 1);
}

/* cJSON_Compare takes numbers as equal that differ by a rounding. */
bool eb_json_equal(const eb_json *a, const eb_json *b)
{
  if (eb_json_is_number(a) && eb_json_is_number(b))
    return !(a->valuedouble < b->valuedouble) && !(a->valuedouble > b->valuedouble);
  if (a == NULL || b == NULL || (a->type & 0xFF) != (b->type & 0xFF))
    return false;
  if (cJSON_IsString(a))
    return strcmp(a->valuestring, b->valuestring) == 0;
  if (eb_json_count(a) != eb_json_count(b))
    return false;
  const cJSON *other = b->child;
  for (const cJSON *child = a->child; child != NULL; child = child->next) {
    if (!eb_json_equal(child, cJSON_IsObject(a) ? eb_json_get(b, child->string) : other))
      return false;
    other = other->next;
  }
  return true;
}

bool eb_json_is_object(const eb_json *value)
{
  return cJSON_IsObject(value);
}
bool eb_json_is_array(const eb_json *value)
{
  return cJSON_IsArray(value);
}
bool eb_json_is_string(const eb_json *value)
{
  return cJSON_IsString(value);
}
/* A number that was read is a cJSON_Number, one that was made (eb_json_from_number) a cJSON_Raw. */
bool eb_json_is_number(const eb_json *value)
{
  return cJSON_IsNumber(value) || cJSON_IsRaw(value);
}
bool eb_json_is_bool(const eb_json *value)
{
  return cJSON_IsBool(value);
}
bool eb_json_is_null(const eb_json *value)
{
  return cJSON_IsNull(value);
}

const char *eb_json_as_string(const eb_json *value, const char *fallback)
{
  return cJSON_IsString(value) ? value->valuestring : fallback;
}

double eb_json_as_number(const eb_json *value, double fallback)
{
  return eb_json_is_number(value) ? value->valuedouble : fallback;
}

bool eb_json_as_bool(const eb_json *value, bool fallback)
{
  return cJSON_IsBool(value) ? cJSON_IsTrue(value) : fallback;
}

/* cJSON calls strcmp for each key, where nearly all differ in their first letter: that takes twice the time. */
static bool has_key(const cJSON *member, const char *key)
{
  return *member->string == *key && strcmp(member->string, key) == 0;
}

eb_json *eb_json_member(eb_json *object, const char *key)
{
  if (object == NULL || (object->type & 0xFF) != cJSON_Object)
    return NULL;
  cJSON *member = object->child;
  while (member != NULL && !has_key(member, key))
    member = member->next;
  return member;
}

const eb_json *eb_json_get(const eb_json *object, const char *key)
{
  return eb_json_member((eb_json *)object, key);
}

const char *eb_json_get_string(const eb_json *object, const char *key, const char *fallback)
{
  return eb_json_as_string(eb_json_get(object, key), fallback);
}

double eb_json_get_number(const eb_json *object, const char *key, double fallback)
{
  return eb_json_as_number(eb_json_get(object, key), fallback);
}

bool eb_json_get_bool(const eb_json *object, const char *key, bool fallback)
{
  return eb_json_as_bool(eb_json_get(object, key), fallback);
}

int eb_json_as_int(const eb_json *value, int fallback)
{
  double number = eb_json_as_number(value, fallback);
  bool fits = number >= INT_MIN && number <= INT_MAX && !(floor(number) < number);
  return fits ? (int)number : fallback;
}

int eb_json_get_int(const eb_json *object, const char *key, int fallback)
{
  return eb_json_as_int(eb_json_get(object, key), fallback);
}

int eb_json_count(const eb_json *value)
{
  return cJSON_GetArraySize(value);
}
const eb_json *eb_json_at(const eb_json *array, int index)
{
  return cJSON_GetArrayItem(array, index);
}
const eb_json *eb_json_first(const eb_json *value)
{
  return value == NULL ? NULL : value->child;
}
const eb_json *eb_json_next(const eb_json *value)
{
  return value->next;
}
const char *eb_json_key(const eb_json *member)
{
  return member->string == NULL ? "" : member->string;
}

eb_json *eb_json_object(void)
{
  return cJSON_CreateObject();
}
eb_json *eb_json_array(void)
{
  return cJSON_CreateArray();
}
eb_json *eb_json_from_string(const char *text)
{
  return cJSON_CreateString(text);
}
eb_json *eb_json_from_bool(bool flag)
{
  return cJSON_CreateBool(flag);
}
eb_json *eb_json_null(void)
{
  return cJSON_CreateNull();
}

/* With its text, which cJSON then prints as it stands: a number's own it would make and read back each time. */
eb_json *eb_json_from_number(double number)
{
  assert(isfinite(number));
  char text[NUMBER_SIZE];
  double kept = fifteen_digits(number, text);
  cJSON *made = cJSON_CreateRaw(text);
  if (made != NULL)
    made->valuedouble = kept;
  return made;
}

bool eb_json_put_member(eb_json *object, const char *key, bool literal, eb_json *value)
{
  assert(eb_json_get(object, key) == NULL);
  bool done = object != NULL && value != NULL;
  if (done)
    done = literal ? cJSON_AddItemToObjectCS(object, key, value) : cJSON_AddItemToObject(object, key, value);
  if (!done)
    cJSON_Delete(value);
  return done;
}

static void take_key(cJSON *to, cJSON *from)
{
  if (to->string != NULL && (to->type & cJSON_StringIsConst) == 0)
    cJSON_free(to->string);
  to->string = from->string;
  to->type = (to->type & ~cJSON_StringIsConst) | (from->type & cJSON_StringIsConst);
  from->string = NULL;
}

/* A new value takes the key of the one that it replaces: cJSON would copy it, and lose both values where there is no
 * memory for that. */
bool eb_json_set_member(eb_json *object, const char *key, bool literal, eb_json *value)
{
  cJSON *present = eb_json_member(object, key);
  if (present == NULL)
    return eb_json_put_member(object, key, literal, value);
  if (value == NULL)
    return false;
  take_key(value, present);
  return cJSON_ReplaceItemViaPointer(object, present, value);
}

bool eb_json_add(eb_json *array, eb_json *value)
{
  if (array == NULL || value == NULL || !cJSON_AddItemToArray(array, value)) {
    cJSON_Delete(value);
    return false;
  }
  return true;
}

bool eb_json_add_string(eb_json *array, const char *text)
{
  return eb_json_add(array, eb_json_from_string(text));
}

bool eb_json_add_number(eb_json *array, double number)
{
  return eb_json_add(array, eb_json_from_number(number));
}

bool eb_json_remove(eb_json *object, const char *key)
{
  cJSON *member = cJSON_DetachItemFromObjectCaseSensitive(object, key);
  cJSON_Delete(member);
  return member != NULL;
}

eb_json *eb_json_element(eb_json *array, int index)
{
  return cJSON_GetArrayItem(array, index);
}

eb_json *eb_json_take_first(eb_json *array)
{
  return cJSON_DetachItemFromArray(array, 0);
}

eb_json *eb_json_take(eb_json *object, const char *key)
{
  return cJSON_DetachItemFromObjectCaseSensitive(object, key);
}

bool eb_json_move(eb_json *from, const eb_json *member, eb_json *to)
{
  if (from == NULL || member == NULL || to == NULL)
    return false;
  return cJSON_AddItemToArray(to, cJSON_DetachItemViaPointer(from, (cJSON *)member)); /* it keeps its key */
}

bool eb_json_join(eb_json *object, eb_json *more)
{
  bool joined = object != NULL && more != NULL;
  while (joined && more->child != NULL)
    joined = eb_json_move(more, more->child, object);
  cJSON_Delete(more);
  return joined;
}

bool eb_json_add_shared(eb_json *array, const eb_json *value)
{
  return cJSON_AddItemReferenceToArray(array, (cJSON *)value);
}
