/* The table of api.h as others read it: a language server, and luacheck.  Annotations keep to their documented grammar
 * (https://luals.github.io/wiki/annotations/): what a class is for stands above it, of a field behind its type. */
#include "evenbore/api.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The annotation for one word of a type; NULL: it is a table of fields. */
static const char *annotation_of(const char *word, size_t size)
{
  static const struct {
    const char *word, *annotation;
  } known[] = {
      {"text", "string"},
      {"number", "number"},
      {"whole", "integer"},
      {"flag", "boolean"},
      {"bore", "string|integer"},
      {"bores", "(string|integer)[]"},
      {"texts", "string[]"},
      {"rows", "(string|integer)[][]"},
      {"pair", "number[]"},
      {"function", "function"},
      {"adjuster", "evenbore.made"},
      {"adjusters", "(evenbore.made|evenbore.made[])[]"},
      {"any", "any"},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strlen(known[i].word) == size && memcmp(known[i].word, word, size) == 0)
      return known[i].annotation;
  return NULL;
}

/* "text|tell", "list of move" in the words of a language server.  What an adjuster's call takes is a table of fields,
 * what it gives is what a layout wants. */
static void add_type(eb_text *text, const char *type, bool taken)
{
  static const char list[] = "list of ";
  const char *lead = "";
  while (*type != '\0') {
    size_t size = strcspn(type, "|");
    bool many = strncmp(type, list, sizeof list - 1) == 0;
    const char *word = many ? type + sizeof list - 1 : type;
    size_t word_size = size - (size_t)(word - type);
    bool fields = taken && word_size == 8 && memcmp(word, "adjuster", 8) == 0;
    const char *annotation = fields ? NULL : annotation_of(word, word_size);
    eb_text_add(text, lead);
    if (annotation != NULL)
      eb_text_add(text, annotation);
    else
      eb_text_printf(text, "evenbore.%.*s%s", (int)word_size, word, many ? "[]" : "");
    lead = "|";
    type += size + (type[size] == '|');
  }
}

static void add_help(eb_text *text, const eb_api_field *f)
{
  eb_text_printf(text, " %s", f->help);
  if (f->unit[0] != '\0')
    eb_text_printf(text, " (%s)", f->unit);
  if (f->usual != NULL && f->usual[0] != '\0')
    eb_text_printf(text, "; usual: %s", f->usual);
  eb_text_add(text, "\n");
}

static void add_table(eb_text *text, const eb_api_table *table, const char *methods)
{
  eb_text_printf(text, "--- %s\n---@class evenbore.%s\n", table->help, table->name);
  for (size_t i = 0; i < table->field_count; i++) {
    const eb_api_field *f = &table->fields[i];
    bool numbered = f->name[0] >= '0' && f->name[0] <= '9';
    eb_text_printf(text, numbered ? "---@field [%s]%s " : "---@field %s%s ", f->name, f->usual == NULL ? "" : "?");
    add_type(text, f->type, false);
    add_help(text, f);
  }
  eb_text_printf(text, "%s\n", methods);
}

static void add_call(eb_text *text, const eb_api_call *call)
{
  eb_text_printf(text, "--- %s\n", call->help);
  for (size_t i = 0; i < call->take_count; i++) {
    const eb_api_field *f = &call->takes[i];
    eb_text_printf(text, "---@param %s%s ", f->name, f->usual == NULL ? "" : "?");
    add_type(text, f->type, true);
    add_help(text, f);
  }
  if (call->gives[0] != '\0') {
    eb_text_add(text, "---@return ");
    add_type(text, call->gives, false);
    eb_text_add(text, "\n");
  }
  eb_text_printf(text, "function %s%s%s(", call->of, call->of[0] == '\0' ? "" : ":", call->name);
  for (size_t i = 0; i < call->take_count; i++)
    eb_text_printf(text, "%s%s", i == 0 ? "" : ", ", call->takes[i].name);
  eb_text_add(text, ") end\n\n");
}

void eb_api_write_lua(eb_text *text)
{
  size_t table_count = 0, call_count = 0;
  const eb_api_table *tables = eb_api_tables(&table_count);
  const eb_api_call *calls = eb_api_calls(&call_count);
  eb_text_add(text,
              "---@meta\n-- What a procedure of evenbore can name, for an editor. Made by: evenbore manual api --as "
              "lua\n-- It is not run; the program does not read it.\n\n"
              "--- an adjuster, for a layout's list of adjusters\n---@class evenbore.made\n\n");
  for (size_t i = 0; i < table_count; i++)
    add_table(text, &tables[i], "");
  add_table(text, eb_api_job_fields(), "local job = {}\n");
  for (size_t i = 0; i < call_count; i++)
    add_call(text, &calls[i]);
  eb_text_add(text, "--- the pieces of a text between the places where the separator stands\n---@param s string\n"
                    "---@param separator string\n---@return string[]\nfunction string.split(s, separator) end\n\n"
                    "--- without white space at its ends\n---@param s string\n---@return string\n"
                    "function string.trim(s) end\n");
}

static int by_name(const void *a, const void *b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

enum { NAMES_MAX = 160, COLUMNS = 110 };

/* Breaks a line of a list where it grows too long. */
static void add_name(eb_text *text, int *column, const char *indent, const char *name)
{
  int width = (int)strlen(name) + 4;
  if (*column == 0 || *column + width > COLUMNS) {
    eb_text_printf(text, "%s%s", *column == 0 ? "" : "\n", indent);
    *column = (int)strlen(indent);
  } else
    eb_text_add(text, " ");
  eb_text_printf(text, "\"%s\",", name);
  *column += width;
}

/* The library `prefix` ("math.") as a list of its own. */
static void add_library(eb_text *text, const char *prefix)
{
  size_t count = 0, size = strlen(prefix);
  const char *const *names = eb_api_language(&count);
  int column = 0;
  eb_text_printf(text, "    %.*s = {\n      fields = {\n", (int)size - 1, prefix);
  for (size_t i = 0; i < count; i++)
    if (strncmp(names[i], prefix, size) == 0)
      add_name(text, &column, "        ", names[i] + size);
  eb_text_add(text, "\n      },\n    },\n");
}

void eb_api_write_luacheck(eb_text *text)
{
  const char *globals[NAMES_MAX];
  size_t count = 0, names = 0, call_count = 0;
  int column = 0;
  const char *const *language = eb_api_language(&count);
  const eb_api_call *calls = eb_api_calls(&call_count);
  for (size_t i = 0; i < count && names < NAMES_MAX; i++)
    if (strchr(language[i], '.') == NULL)
      globals[names++] = language[i];
  for (size_t i = 0; i < call_count && names < NAMES_MAX; i++)
    if (calls[i].of[0] == '\0')
      globals[names++] = calls[i].name;
  qsort(globals, names, sizeof globals[0], by_name);
  eb_text_add(text, "-- Made by: evenbore manual api --as luacheck\nstds.procedure = {\n  read_globals = {\n");
  for (size_t i = 0; i < names; i++)
    add_name(text, &column, "    ", globals[i]);
  eb_text_add(text, "\n");
  add_library(text, "math.");
  add_library(text, "string.");
  add_library(text, "table.");
  add_library(text, "utf8.");
  eb_text_add(text, "  },\n}\n");
}
