/* JSON in the one spelling that mail leaves alone: written, and read back byte by byte. */
#include "evenbore/json.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <string.h>

enum {
  SPACED_MAX = 56, /* bytes of a text with a space in it that still stands in one piece */
  SOLID_MAX = 100, /* the same without a space: nothing breaks a line there */
  PIECE_MAX = 68   /* bytes of one piece */
};

static const char lines_key[] = "lines";

/* One character as it stands in a JSON text of ASCII alone; its size there. */
static size_t spell(uint32_t c, char spelled[16])
{
  static const char plain[][2] = {{'"', '"'}, {'\\', '\\'}, {'\n', 'n'}, {'\r', 'r'}, {'\t', 't'}};
  for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++)
    if (c == (unsigned char)plain[i][0])
      return (size_t)snprintf(spelled, 16, "\\%c", plain[i][1]);
  if (c >= 0x20 && c < 0x7F)
    return (size_t)snprintf(spelled, 16, "%c", (char)c);
  if (c < 0x10000)
    return (size_t)snprintf(spelled, 16, "\\u%04x", (unsigned)c);
  c -= 0x10000;
  return (size_t)snprintf(spelled, 16, "\\u%04x\\u%04x", 0xD800U + (unsigned)(c >> 10),
                          0xDC00U + (unsigned)(c & 0x3FF));
}

/* The next character of a string, spelled; *at moves behind it.  0 at the end.  What is not UTF-8 fails the text. */
static size_t next_spelled(eb_text *text, const char *string, size_t size, size_t *at, char spelled[16])
{
  uint32_t c = 0;
  size_t step = eb_utf8_decode(string + *at, size - *at, &c);
  if (step == 0) {
    text->failed = text->failed || *at < size;
    return 0;
  }
  *at += step;
  return spell(c, spelled);
}

static bool needs_lines(eb_text *text, const char *string, size_t size)
{
  char spelled[16];
  size_t width = 0;
  for (size_t at = 0, step; (step = next_spelled(text, string, size, &at, spelled)) > 0;)
    width += step;
  const char *newline = memchr(string, '\n', size);
  return (newline != NULL && newline + 1 < string + size) ||
         width > (memchr(string, ' ', size) != NULL ? SPACED_MAX : SOLID_MAX);
}

static void write_whole(eb_text *text, const char *string, size_t size)
{
  char spelled[16];
  eb_text_add(text, "\"");
  for (size_t at = 0, step; (step = next_spelled(text, string, size, &at, spelled)) > 0;)
    eb_text_add_bytes(text, spelled, step);
  eb_text_add(text, "\"");
}

/* A piece ends behind a newline, or where the next character has no room. */
static void write_pieces(eb_text *text, const char *string, size_t size)
{
  char spelled[16];
  size_t width = 0;
  eb_text_printf(text, "{\n\"%s\":[\n\"", lines_key);
  for (size_t at = 0, step; (step = next_spelled(text, string, size, &at, spelled)) > 0;) {
    if (width > 0 && width + step > PIECE_MAX) {
      eb_text_add(text, "\",\n\"");
      width = 0;
    }
    eb_text_add_bytes(text, spelled, step);
    width += step;
    if (string[at - 1] == '\n' && at < size) {
      eb_text_add(text, "\",\n\"");
      width = 0;
    }
  }
  eb_text_add(text, "\"\n]\n}");
}

static void write_string(eb_text *text, const char *string)
{
  size_t size = strlen(string);
  if (needs_lines(text, string, size))
    write_pieces(text, string, size);
  else
    write_whole(text, string, size);
}

static void write_value(eb_text *text, const eb_json *value)
{
  bool object = eb_json_is_object(value);
  if (eb_json_is_string(value)) {
    write_string(text, eb_json_as_string(value, ""));
    return;
  }
  if (eb_json_first(value) == NULL) {
    eb_json_add_text(text, value);
    return;
  }
  eb_text_add(text, object ? "{\n" : "[\n");
  for (const eb_json *child = eb_json_first(value); child != NULL; child = eb_json_next(child)) {
    if (object) {
      write_whole(text, eb_json_key(child), strlen(eb_json_key(child)));
      eb_text_add(text, ":");
    }
    write_value(text, child);
    eb_text_add(text, eb_json_next(child) == NULL ? "\n" : ",\n");
  }
  eb_text_add(text, object ? "}" : "]");
}

void eb_json_write_mail(eb_text *text, const eb_json *value)
{
  write_value(text, value);
  eb_text_add(text, "\n");
}

/* {"lines": [...]}, all of them strings. */
static bool is_pieces(const eb_json *value)
{
  const eb_json *lines = eb_json_get(value, lines_key);
  if (!eb_json_is_array(lines) || eb_json_count(value) != 1 || eb_json_first(lines) == NULL)
    return false;
  for (const eb_json *piece = eb_json_first(lines); piece != NULL; piece = eb_json_next(piece))
    if (!eb_json_is_string(piece))
      return false;
  return true;
}

static eb_json *join(const eb_host *host, const eb_json *pieces)
{
  eb_text text;
  eb_text_init(&text, host);
  for (const eb_json *p = eb_json_first(eb_json_get(pieces, lines_key)); p != NULL; p = eb_json_next(p))
    eb_text_add(&text, eb_json_as_string(p, ""));
  eb_json *joined = text.failed ? NULL : eb_json_from_string(eb_text_string(&text));
  eb_text_clear(&text);
  return joined;
}

/* `child` of `parent` becomes one string.  False when memory runs out. */
static bool join_child(const eb_host *host, eb_json *parent, eb_json *child)
{
  eb_json *joined = join(host, child);
  bool done = joined != NULL &&
              (eb_json_is_object(parent) ? cJSON_ReplaceItemInObjectCaseSensitive(parent, child->string, joined)
                                         : cJSON_ReplaceItemViaPointer(parent, child, joined));
  if (!done)
    eb_json_destroy(joined);
  return done;
}

/* Depth is bounded by EB_JSON_DEPTH_MAX. */
static bool join_all(const eb_host *host, eb_json *value)
{
  eb_json *next = NULL;
  for (eb_json *child = value->child; child != NULL; child = next) {
    next = child->next;
    if (is_pieces(child) ? !join_child(host, value, child) : !join_all(host, child))
      return false;
  }
  return true;
}

/* Line ends of mail become newlines; those behind the end count as the one that belongs there. */
static void undo_transit(eb_text *text, const char *bytes, size_t size)
{
  while (size > 0 && (bytes[size - 1] == '\n' || bytes[size - 1] == '\r'))
    size--;
  for (size_t at = 0; at < size;) {
    const char *stop = memchr(bytes + at, '\r', size - at);
    size_t end = stop == NULL ? size : (size_t)(stop - bytes);
    eb_text_add_bytes(text, bytes + at, end - at);
    at = end;
    if (at < size && bytes[at + 1] != '\n') /* what is last is no line end, so that there is one more */
      eb_text_add(text, "\r");
    at += at < size;
  }
  eb_text_add(text, "\n");
}

/* The line where two texts begin to differ. */
static size_t differing_line(const char *a, const char *b)
{
  size_t line = 1;
  for (; *a != '\0' && *a == *b; a++, b++)
    line += *a == '\n';
  return line;
}

static eb_status check_spelling(const char *name, const eb_text *met, const eb_text *right, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  if (met->size == right->size && memcmp(met->bytes, right->bytes, met->size) == 0)
    return EB_OK;
  eb_json_place(name, differing_line(met->bytes, right->bytes), place);
  return eb_fail(error, EB_BAD_VALUE, place,
                 "this line is not spelled as evenbore writes it; line ends apart, every byte must be as it was made");
}

static eb_status parse(const eb_host *host, const char *name, const eb_text *met, eb_json **value, eb_error *error)
{
  eb_error why;
  eb_text right;
  eb_json *made = NULL;
  eb_status status = eb_json_parse(met->bytes, met->size, &made, &why);
  if (status != EB_OK)
    return eb_fail(error, status, name, "%s", why.message);
  eb_text_init(&right, host);
  if (join_all(host, made))
    eb_json_write_mail(&right, made);
  else
    right.failed = true;
  status =
      right.failed ? eb_fail(error, EB_OUT_OF_MEMORY, name, "out of memory") : check_spelling(name, met, &right, error);
  eb_text_clear(&right);
  if (status == EB_OK)
    *value = made;
  else
    eb_json_destroy(made);
  return status;
}

eb_status eb_json_parse_mail(const eb_host *host, const char *name, const char *text, size_t size, eb_json **value,
                             eb_error *error)
{
  eb_text met;
  eb_text_init(&met, host);
  undo_transit(&met, text, size);
  eb_status status =
      met.failed ? eb_fail(error, EB_OUT_OF_MEMORY, name, "out of memory") : parse(host, name, &met, value, error);
  eb_text_clear(&met);
  return status;
}
