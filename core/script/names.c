/* Names that a source uses and nothing gives a value to, found without running it. */
#include "token.h"

#include "evenbore/api.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

enum { NAMES_MAX = 400, NAME_SIZE = 48 };

typedef struct scope {
  char name[NAMES_MAX][NAME_SIZE]; /* given a value anywhere in the source: scopes are not told apart */
  size_t count;
} scope;

typedef struct word {
  token_kind kind;
  const char *text;
  size_t size;
  int line;
} word;

static bool is(const word *w, const char *text)
{
  return w->size == strlen(text) && memcmp(w->text, text, w->size) == 0;
}

static word next_word(token_reader *reader)
{
  word w = {.kind = token_next(reader)};
  w.line = reader->line;
  w.text = reader->word;
  w.size = w.kind == TOKEN_END ? 0 : (size_t)(reader->at - reader->word);
  return w;
}

static bool is_name(const word *w)
{
  char c = w->size > 0 ? *w->text : '\0';
  bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
  return w->kind == TOKEN_OPERAND && letter && !is(w, "nil") && !is(w, "true") && !is(w, "false");
}

static void add(scope *s, const word *w)
{
  if (s->count < NAMES_MAX && w->size < NAME_SIZE)
    snprintf(s->name[s->count++], NAME_SIZE, "%.*s", (int)w->size, w->text);
}

/* Names that stand one after the other with commas between: of a local, a for, or parameters. */
static word add_list(scope *s, token_reader *reader, word w)
{
  while (is_name(&w) || is(&w, ",") || is(&w, "(") || is(&w, "...")) {
    if (is_name(&w))
      add(s, &w);
    w = next_word(reader);
  }
  return w;
}

static void collect(scope *s, const eb_source *source)
{
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  word w = next_word(&reader);
  while (w.kind != TOKEN_END) {
    bool declares = is(&w, "local") || is(&w, "for");
    bool function = is(&w, "function");
    w = next_word(&reader);
    if (declares && is(&w, "function")) {
      w = next_word(&reader);
      function = true;
    }
    if (function) { /* its name, if any, then its parameters */
      if (is_name(&w))
        add(s, &w);
      while (w.kind != TOKEN_END && !is(&w, "("))
        w = next_word(&reader);
      w = add_list(s, &reader, w);
    } else if (declares)
      w = add_list(s, &reader, w);
  }
}

static bool holds(const scope *s, const char *name)
{
  for (size_t i = 0; i < s->count; i++)
    if (strcmp(s->name[i], name) == 0)
      return true;
  return false;
}

static bool in_language(const char *name, size_t size)
{
  size_t count = 0;
  const char *const *language = eb_api_language(&count);
  for (size_t i = 0; i < count; i++)
    if (strncmp(language[i], name, size) == 0 && (language[i][size] == '\0' || language[i][size] == '.'))
      return true;
  return false;
}

/* Globals under `prefix` ("math." or ""), or calls of `of`. */
static const char *nearest(const char *name, const char *of, const char *prefix)
{
  const char *names[160];
  size_t found = 0, count = 0, size = strlen(prefix);
  const char *const *language = eb_api_language(&count);
  for (size_t i = 0; of[0] == '\0' && i < count; i++)
    if (strncmp(language[i], prefix, size) == 0 && strchr(language[i] + size, '.') == NULL)
      names[found++] = language[i] + size;
  const eb_api_call *calls = eb_api_calls(&count);
  for (size_t i = 0; prefix[0] == '\0' && i < count; i++)
    if (strcmp(calls[i].of, of) == 0)
      names[found++] = calls[i].name;
  return eb_nearest(name, names, found);
}

static void check_global(const scope *s, const char *name, char *message, size_t size)
{
  if (holds(s, name) || in_language(name, strlen(name)) || eb_api_call_find("", name) != NULL)
    return;
  static const char *const known_absent[] = {"print", "next", "xpcall", "setmetatable", "getmetatable", "os", "io"};
  for (size_t i = 0; i < sizeof known_absent / sizeof known_absent[0]; i++)
    if (strcmp(known_absent[i], name) == 0) {
      snprintf(message, size, "there is no %s here; %s", name,
               i == 0 ? "job:tell{...} shows a text to the technician" : "evenbore manual api lists what there is");
      return;
    }
  const char *near = nearest(name, "", "");
  if (near != NULL)
    snprintf(message, size, "there is no %s here; did you mean %s?", name, near);
  else
    snprintf(message, size, "there is no %s here; a name of your own begins with: local %s", name, name);
}

static void check_member(const char *object, const char *name, bool call, char *message, size_t size)
{
  char prefix[NAME_SIZE + 2], full[2 * NAME_SIZE + 2];
  if (call && strcmp(object, "job") == 0 && eb_api_call_find("job", name) == NULL) {
    const char *near = nearest(name, "job", "");
    if (near != NULL)
      snprintf(message, size, "job:%s: there is no such call; did you mean job:%s?", name, near);
    else
      snprintf(message, size, "job has nothing named %s", name);
    return;
  }
  snprintf(prefix, sizeof prefix, "%s.", object);
  snprintf(full, sizeof full, "%s%s", prefix, name);
  static const char *const libraries[] = {"math", "string", "table", "utf8"};
  for (size_t i = 0; !call && i < sizeof libraries / sizeof libraries[0]; i++)
    if (strcmp(libraries[i], object) == 0 && !in_language(full, strlen(full))) {
      const char *near = nearest(name, "", prefix);
      snprintf(message, size, near == NULL ? "there is no %s here" : "there is no %s here; did you mean %s%s?", full,
               prefix, near);
    }
}

/* `name = ` in a table is a field's name, and so is what stands behind a point. */
static bool is_field(const word *before, const word *after, int braces)
{
  bool key = braces > 0 && (is(before, "{") || is(before, ",") || is(before, ";")) && is(after, "=");
  return key || is(before, ".") || is(before, ":") || is(before, "::") || is(before, "goto");
}

static void copy(char to[NAME_SIZE], const word *w)
{
  snprintf(to, NAME_SIZE, "%.*s", (int)(w->size < NAME_SIZE ? w->size : NAME_SIZE - 1), w->text);
}

void eb_script_unknown_names(const eb_source *source, void (*each)(void *context, int line, const char *message),
                             void *context)
{
  scope s = {.count = 0};
  collect(&s, source);
  token_reader reader = {.at = source->text, .end = source->text + source->size, .line = 1};
  word object = {.kind = TOKEN_END}, before = object, w = next_word(&reader);
  int braces = 0;
  while (w.kind != TOKEN_END) {
    char message[300] = "", name[NAME_SIZE], owner[NAME_SIZE];
    word after = next_word(&reader);
    braces += is(&w, "{") ? 1 : is(&w, "}") ? -1 : 0;
    copy(name, &w);
    copy(owner, &object);
    bool member = is(&before, ".") || is(&before, ":");
    if (is_name(&w) && w.size < NAME_SIZE && member && is_name(&object))
      check_member(owner, name, is(&before, ":"), message, sizeof message);
    else if (is_name(&w) && w.size < NAME_SIZE && !is_field(&before, &after, braces))
      check_global(&s, name, message, sizeof message);
    if (message[0] != '\0')
      each(context, w.line, message);
    object = before;
    before = w;
    w = after;
  }
}
