/* Where things stand in a JSON text: the JSON library keeps no lines, and a message about a file that a person wrote
 * has to name one.  The text is walked once more, by the grammar of RFC 8259. */
#include "evenbore/json.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct walk {
  const char *text;
  size_t size, at;
  const char *wrong; /* the first thing, met at `at`; NULL: none */
  int depth;
  const char *pointer; /* what is left of it on the way to its value; NULL: it is not looked for here */
  bool known;          /* walked before: keys are not looked at for doubles again */
  size_t found;        /* 1 and the offset of what the pointer names; 0: not met */
} walk;

static bool walk_value(walk *w);

static bool stop(walk *w, const char *wrong)
{
  if (w->wrong == NULL)
    w->wrong = wrong;
  return false;
}

static void skip_space(walk *w)
{
  while (w->at < w->size && strchr(" \t\r\n", w->text[w->at]) != NULL && w->text[w->at] != '\0')
    w->at++;
}

static bool next_is(const walk *w, char c)
{
  return w->at < w->size && w->text[w->at] == c;
}

static bool take(walk *w, char c)
{
  if (!next_is(w, c))
    return false;
  w->at++;
  return true;
}

static bool is_digit(const walk *w, size_t at)
{
  return at < w->size && w->text[at] >= '0' && w->text[at] <= '9';
}

/* Four hexadecimal digits; -1 where they are not there. */
static long hexadecimal(const walk *w, size_t at)
{
  char digits[5] = "";
  for (size_t i = 0; i < 4; i++) {
    if (at + i >= w->size || strchr("0123456789abcdefABCDEF", w->text[at + i]) == NULL || w->text[at + i] == '\0')
      return -1;
    digits[i] = w->text[at + i];
  }
  return strtol(digits, NULL, 16);
}

/* One character of a string, *at moved behind it; false at its closing quote, and where it is malformed: then *wrong.
 */
static bool next_character(const walk *w, size_t *at, uint32_t *c, const char **wrong)
{
  if (*at >= w->size || w->text[*at] == '\n' || w->text[*at] == '\r')
    return (*wrong = "the closing quote of a text is missing", false);
  if (w->text[*at] == '"')
    return false;
  if ((unsigned char)w->text[*at] < 0x20)
    return (*wrong = "a control character stands in a text; write it as an escape", false);
  if (w->text[*at] != '\\') {
    size_t length = eb_utf8_decode(w->text + *at, w->size - *at, c);
    *at += length;
    return length > 0;
  }
  static const char named[] = "\"\\/bfnrt";
  static const char meant[] = "\"\\/\b\f\n\r\t";
  const char *known = *at + 1 < w->size ? strchr(named, w->text[*at + 1]) : NULL;
  if (known != NULL && *known != '\0') {
    *c = (unsigned char)meant[known - named];
    *at += 2;
    return true;
  }
  long unit = *at + 1 < w->size && w->text[*at + 1] == 'u' ? hexadecimal(w, *at + 2) : -1;
  if (unit < 0)
    return (*wrong = "an unknown escape stands in a text; a backslash is written \\\\", false);
  if (unit == 0)
    return (*wrong = "a text holds a NUL character", false);
  *at += 6;
  *c = (uint32_t)unit;
  bool paired = unit >= 0xD800 && unit < 0xDC00 && *at + 1 < w->size && w->text[*at] == '\\' && w->text[*at + 1] == 'u';
  long low = paired ? hexadecimal(w, *at + 2) : -1;
  if (unit >= 0xD800 && unit < 0xE000 && !(low >= 0xDC00 && low < 0xE000))
    return (*wrong = "half of a surrogate pair stands in a text", false);
  if (low >= 0) {
    *c = 0x10000U + (((uint32_t)unit - 0xD800U) << 10) + ((uint32_t)low - 0xDC00U);
    *at += 6;
  }
  return true;
}

/* From behind the opening quote to behind the closing one. */
static bool walk_string(walk *w)
{
  uint32_t c;
  const char *wrong = NULL;
  while (next_character(w, &w->at, &c, &wrong))
    ;
  if (wrong != NULL)
    return stop(w, wrong);
  w->at++;
  return true;
}

/* Whether the strings that begin at `a` and `b`, behind their quotes, say the same. */
static bool same_string(const walk *w, size_t a, size_t b)
{
  const char *wrong = NULL;
  for (;;) {
    uint32_t one = 0;
    uint32_t other = 0;
    bool more = next_character(w, &a, &one, &wrong);
    if (more != next_character(w, &b, &other, &wrong) || one != other)
      return false;
    if (!more)
      return true;
  }
}

/* Whether the pointer's next step is this key; *rest is then what follows that step. */
static bool steps_to_key(const walk *w, size_t key, const char **rest)
{
  const char *step = w->pointer + 1;
  const char *wrong = NULL;
  uint32_t c;
  while (next_character(w, &key, &c, &wrong)) {
    uint32_t wanted = 0;
    size_t length = *step == '/' ? 0 : eb_utf8_decode(step, strlen(step), &wanted);
    if (length == 0)
      return false;
    step += length;
    if (wanted == '~' && (*step == '0' || *step == '1'))
      wanted = *step++ == '1' ? '/' : '~';
    if (wanted != c)
      return false;
  }
  *rest = step;
  return *step == '/' || *step == '\0';
}

static bool steps_to_index(const walk *w, int index, const char **rest)
{
  char step[16];
  snprintf(step, sizeof step, "/%d", index);
  size_t size = strlen(step);
  if (strncmp(w->pointer, step, size) != 0)
    return false;
  *rest = w->pointer + size;
  return **rest == '/' || **rest == '\0';
}

/* A member's or an element's value, which begins at `from` for the pointer. */
static bool walk_child(walk *w, bool steps, const char *rest, size_t from)
{
  const char *pointer = w->pointer;
  w->pointer = steps ? rest : NULL;
  if (steps && *rest == '\0' && w->found == 0)
    w->found = from + 1;
  bool good = walk_value(w);
  w->pointer = pointer;
  return good;
}

/* Looks through the members that come before a key, whose objects are walked already. */
static bool stands_before(const walk *w, size_t object, size_t key)
{
  walk again = {.text = w->text, .size = w->size, .at = object, .known = true};
  for (;;) {
    skip_space(&again);
    size_t met = again.at + 1;
    if (met >= key)
      return false;
    if (same_string(w, met, key))
      return true;
    again.at++;
    walk_string(&again);
    skip_space(&again);
    again.at++; /* the colon */
    walk_value(&again);
    skip_space(&again);
    again.at++; /* the comma */
  }
}

static bool walk_member(walk *w, size_t object)
{
  const char *rest = "";
  size_t from = w->at;
  if (!take(w, '"'))
    return stop(w, next_is(w, '}') ? "no comma stands before a closing }" : "a key in double quotes is wanted here");
  size_t key = w->at;
  if (!walk_string(w))
    return false;
  size_t behind = w->at;
  w->at = from;
  if (!w->known && stands_before(w, object, key))
    return stop(w, "this key stands here for the second time; once is enough");
  w->at = behind;
  skip_space(w);
  if (!take(w, ':'))
    return stop(w, "a colon is wanted behind a key");
  bool steps = w->pointer != NULL && w->pointer[0] == '/' && steps_to_key(w, key, &rest);
  return walk_child(w, steps, rest, from);
}

static bool walk_object(walk *w)
{
  size_t object = w->at;
  skip_space(w);
  if (take(w, '}'))
    return true;
  do {
    skip_space(w);
    if (!walk_member(w, object))
      return false;
    skip_space(w);
  } while (take(w, ','));
  return take(w, '}') ? true : stop(w, "a comma or } is wanted behind a value");
}

static bool walk_array(walk *w)
{
  skip_space(w);
  if (take(w, ']'))
    return true;
  int index = 0;
  do {
    const char *rest = "";
    skip_space(w);
    if (next_is(w, ']'))
      return stop(w, "no comma stands before a closing ]");
    bool steps = w->pointer != NULL && w->pointer[0] == '/' && steps_to_index(w, index++, &rest);
    if (!walk_child(w, steps, rest, w->at))
      return false;
    skip_space(w);
  } while (take(w, ','));
  return take(w, ']') ? true : stop(w, "a comma or ] is wanted behind a value");
}

static void skip_digits(const walk *w, size_t *at)
{
  while (is_digit(w, *at))
    (*at)++;
}

static bool walk_number(walk *w)
{
  size_t at = w->at + (next_is(w, '-') ? 1 : 0);
  size_t whole = at;
  skip_digits(w, &at);
  bool good = at > whole && !(w->text[whole] == '0' && at - whole > 1);
  if (at < w->size && w->text[at] == '.') {
    size_t fraction = ++at;
    skip_digits(w, &at);
    good = good && at > fraction;
  }
  if (at < w->size && (w->text[at] == 'e' || w->text[at] == 'E')) {
    at += at + 1 < w->size && strchr("+-", w->text[at + 1]) != NULL && w->text[at + 1] != '\0' ? 2 : 1;
    size_t exponent = at;
    skip_digits(w, &at);
    good = good && at > exponent;
  }
  if (!good)
    return stop(w, "a number is malformed; write it as 12, 0.5 or -3");
  if (at - w->at > 60)
    return stop(w, "a number is longer than 60 characters");
  char digits[64];
  snprintf(digits, sizeof digits, "%.*s", (int)(at - w->at), w->text + w->at);
  /* Only whether it is finite counts, which a decimal point in another locale does not change. */
  if (!isfinite(strtod(digits, NULL)))
    return stop(w, "a number is too large");
  w->at = at;
  return true;
}

static bool walk_word(walk *w)
{
  static const char *const words[] = {"true", "false", "null"};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    size_t size = strlen(words[i]);
    if (w->size - w->at >= size && memcmp(w->text + w->at, words[i], size) == 0) {
      w->at += size;
      return true;
    }
  }
  if (w->at >= w->size)
    return stop(w, "the text ends too early; a value is wanted here");
  return stop(w, next_is(w, '\'') ? "a text stands in double quotes"
                                  : "a value is wanted here: a text in double quotes, a number, true or false");
}

static bool walk_value(walk *w)
{
  skip_space(w);
  if (take(w, '"'))
    return walk_string(w);
  if (next_is(w, '-') || is_digit(w, w->at))
    return walk_number(w);
  bool object = next_is(w, '{');
  if (!object && !next_is(w, '['))
    return walk_word(w);
  if (++w->depth > EB_JSON_DEPTH_MAX)
    return stop(w, "the nesting is deeper than 32 levels");
  w->at++;
  bool good = object ? walk_object(w) : walk_array(w);
  w->depth--;
  return good;
}

static size_t line_at(const char *text, size_t at)
{
  size_t line = 1;
  for (size_t i = 0; i < at; i++)
    line += text[i] == '\n';
  return line;
}

void eb_json_place(const char *name, size_t line, char place[EB_PLACE_SIZE])
{
  char behind[24] = "";
  if (line > 0)
    snprintf(behind, sizeof behind, ":%zu", line);
  size_t room = EB_PLACE_SIZE - 1 - strlen(behind);
  size_t size = strlen(name);
  size_t from = size > room ? size - room + 3 : 0;
  while (((unsigned char)name[from] & 0xC0U) == 0x80U)
    from++;
  snprintf(place, EB_PLACE_SIZE, "%s%s%s", from > 0 ? "..." : "", name + from, behind);
}

static eb_status refuse(const char *name, const char *text, size_t at, eb_status status, const char *wrong,
                        eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(name, line_at(text, at), place);
  return eb_fail(error, status, place, "%s", wrong);
}

eb_status eb_json_parse_lines(const char *name, const char *text, size_t size, eb_json **value, eb_error *error)
{
  walk w = {.text = text, .size = size};
  if (!eb_utf8_valid(text, size, &w.at))
    return refuse(name, text, w.at, EB_BAD_TEXT, "this line is not UTF-8; save the file as UTF-8 text", error);
  if (size >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0)
    return refuse(name, text, 0, EB_BAD_TEXT, "the file begins with a byte order mark; save it as UTF-8 without one",
                  error);
  w.at = 0;
  if (walk_value(&w)) {
    skip_space(&w);
    if (w.at < size)
      stop(&w, "something follows behind the end");
  }
  if (w.wrong != NULL)
    return refuse(name, text, w.at < size ? w.at : size, EB_BAD_VALUE, w.wrong, error);
  eb_error why;
  eb_status status = eb_json_parse(text, size, value, &why);
  if (status == EB_OK)
    return EB_OK;
  char place[EB_PLACE_SIZE];
  eb_json_place(name, 0, place);
  return eb_fail(error, status, place, "%s", why.message);
}

size_t eb_json_line(const char *text, size_t size, const char *pointer)
{
  walk w = {.text = text, .size = size, .pointer = pointer, .known = true};
  assert(pointer[0] == '/' || pointer[0] == '\0');
  skip_space(&w);
  if (pointer[0] == '\0')
    return line_at(text, w.at);
  if (!walk_value(&w) || w.found == 0)
    return 0;
  return line_at(text, w.found - 1);
}

static bool is_plain(const eb_json *value)
{
  return !eb_json_is_object(value) && !eb_json_is_array(value);
}

static bool all_plain(const eb_json *array)
{
  for (const eb_json *element = eb_json_first(array); element != NULL; element = eb_json_next(element))
    if (!is_plain(element))
      return false;
  return true;
}

static void write_key(eb_text *text, const eb_json *member)
{
  eb_json *key = eb_json_from_string(eb_json_key(member));
  if (key == NULL)
    text->failed = true;
  else
    eb_json_add_text(text, key);
  eb_json_destroy(key);
  eb_text_add(text, ": ");
}

static void write_value(eb_text *text, const eb_json *value, int depth)
{
  bool object = eb_json_is_object(value);
  if (is_plain(value) || eb_json_first(value) == NULL) {
    eb_json_add_text(text, value);
    return;
  }
  bool inline_list = !object && all_plain(value);
  eb_text_add(text, object ? "{" : "[");
  for (const eb_json *child = eb_json_first(value); child != NULL; child = eb_json_next(child)) {
    if (inline_list)
      eb_text_add(text, child == eb_json_first(value) ? "" : " ");
    else
      eb_text_printf(text, "\n%*s", 2 * (depth + 1), "");
    if (object)
      write_key(text, child);
    write_value(text, child, depth + 1);
    eb_text_add(text, eb_json_next(child) == NULL ? "" : ",");
  }
  if (!inline_list)
    eb_text_printf(text, "\n%*s", 2 * depth, "");
  eb_text_add(text, object ? "}" : "]");
}

void eb_json_write_lines(eb_text *text, const eb_json *value)
{
  write_value(text, value, 0);
  eb_text_add(text, "\n");
}
