/* The command `manual`: what a procedure can name, from the one table of it. */
#include "run.h"

#include "evenbore/api.h"

#include <stdio.h>
#include <string.h>

/* A type in words: "whole" is a whole number. */
static const char *type_words(const char *type, char *text, size_t size)
{
  static const struct {
    const char *type, *words;
  } known[] = {{"whole", "whole number"},
               {"flag", "true or false"},
               {"bores", "list of bores"},
               {"texts", "list of texts"},
               {"rows", "list of rows"},
               {"pair", "{ low, high }"},
               {"adjusters", "list of adjusters"},
               {"any", "table"},
               {"text|tell", "text or tell"},
               {"layout|function", "layout or function"},
               {"throttle|function", "throttle or function"}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(known[i].type, type) == 0)
      return known[i].words;
  snprintf(text, size, "%s", type);
  return text;
}

enum { NAME_WIDTH = 18 };

static void say_field(eb_page *page, const eb_api_field *f, bool read)
{
  char first[80], line[400], type[80], limits[80] = "";
  if (f->low < f->high)
    snprintf(limits, sizeof limits, " from %g to %g", f->low, f->high);
  snprintf(first, sizeof first, "    %-*s ", NAME_WIDTH - 5, f->name);
  snprintf(line, sizeof line, "%.80s%.40s%s%.20s; %.160s%s%.60s", type_words(f->type, type, sizeof type), limits,
           f->unit[0] == '\0' ? "" : ", ", strcmp(f->unit, "share") == 0 ? "a share: 0.05 is 5 %" : f->unit, f->help,
           read || f->usual == NULL ? ""
           : f->usual[0] == '\0'    ? "; may be left out"
                                    : "; usual: ",
           f->usual == NULL ? "" : f->usual);
  eb_page_paragraph(page, EB_PLAIN, first, "                  ", line);
}

static void say_fields(eb_page *page, const eb_api_field *fields, size_t count, bool read)
{
  for (size_t i = 0; i < count; i++)
    say_field(page, &fields[i], read);
}

static void say_table(eb_page *page, const eb_api_table *table)
{
  char head[200];
  snprintf(head, sizeof head, "%s: %s", table->name, table->help);
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "  ", "    ", head);
  say_fields(page, table->fields, table->field_count, table->is_read);
}

static bool is_table(const char *type)
{
  return eb_api_table_find(type) != NULL;
}

/* A call whose one parameter is a table is told by that table's fields; adjusters' is told once. */
static void say_call(eb_page *page, const eb_api_call *call)
{
  char head[300], type[80];
  size_t used = (size_t)snprintf(head, sizeof head, "%s%s%s", call->of, call->of[0] == '\0' ? "" : ":", call->name);
  const eb_api_table *table = call->take_count == 1 ? eb_api_table_find(call->takes[0].type) : NULL;
  used += (size_t)snprintf(head + used, sizeof head - used, "%s", table != NULL ? " { ... }" : "(");
  for (size_t i = 0; table == NULL && i < call->take_count; i++)
    used += (size_t)snprintf(head + used, sizeof head - used, "%s%s", i == 0 ? "" : ", ", call->takes[i].name);
  snprintf(head + used, sizeof head - used, "%s%s%s: %s", table != NULL ? "" : ")",
           call->gives[0] == '\0' ? "" : " gives ", type_words(call->gives, type, sizeof type), call->help);
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "  ", "    ", head);
  if (table == NULL)
    say_fields(page, call->takes, call->take_count, false);
  else if (call->of[0] != '\0' && strcmp(table->name, "throttle") != 0 && strcmp(table->name, "plan") != 0)
    say_fields(page, table->fields, table->field_count, false);
}

/* Whether the table is told with the call that takes it. */
static bool has_call(const eb_api_table *table)
{
  return strncmp(table->help, "of job:", 7) == 0 && strcmp(table->name, "tell") != 0;
}

static void say_all(eb_page *page)
{
  size_t table_count = 0, call_count = 0;
  const eb_api_table *tables = eb_api_tables(&table_count);
  const eb_api_call *calls = eb_api_calls(&call_count);
  eb_page_paragraph(page, EB_STRONG, "", "  ", "What a procedure's file can name, at api = 1");
  eb_page_blank(page);
  eb_page_say(page, "In front of run: functions of the file");
  for (size_t i = 0; i < call_count; i++)
    if (calls[i].of[0] == '\0')
      say_call(page, &calls[i]);
  eb_page_blank(page);
  eb_page_say(page, "Tables that are written");
  for (size_t i = 0; i < table_count; i++)
    if (!tables[i].is_read && !has_call(&tables[i]))
      say_table(page, &tables[i]);
  eb_page_blank(page);
  eb_page_say(page, "Inside of run: calls of the job");
  for (size_t i = 0; i < call_count; i++)
    if (calls[i].of[0] != '\0')
      say_call(page, &calls[i]);
  eb_page_blank(page);
  eb_page_say(page, "Tables that calls give");
  for (size_t i = 0; i < table_count; i++)
    if (tables[i].is_read)
      say_table(page, &tables[i]);
  say_table(page, eb_api_job_fields());
  eb_page_blank(page);
  eb_page_say(page, "Of Lua itself");
  size_t count = 0;
  const char *const *language = eb_api_language(&count);
  eb_text names;
  eb_text_init(&names, page->text.host);
  for (size_t i = 0; i < count; i++)
    eb_text_printf(&names, "%s%s", i == 0 ? "" : ", ", language[i]);
  eb_page_paragraph(page, EB_PLAIN, "  ", "  ", eb_text_string(&names));
  page->text.failed = page->text.failed || names.failed;
  eb_text_clear(&names);
}

static int unknown_name(const eb_run *run, const char *name)
{
  const char *names[160];
  size_t count = 0, table_count = 0, call_count = 0;
  const eb_api_table *tables = eb_api_tables(&table_count);
  const eb_api_call *calls = eb_api_calls(&call_count);
  for (size_t i = 0; i < table_count; i++)
    names[count++] = tables[i].name;
  for (size_t i = 0; i < call_count; i++)
    names[count++] = calls[i].name;
  const char *near = eb_nearest(name, names, count);
  eb_error error;
  eb_fail(&error, EB_NOT_FOUND, name, "a procedure has no such call or table; %s%s",
          near == NULL ? "evenbore manual api lists them" : "the nearest is ", near == NULL ? "" : near);
  eb_run_complain(run, &error);
  return EB_EXIT_USAGE;
}

static int say_one(const eb_run *run, eb_page *page, const char *name)
{
  const char *plain = strncmp(name, "job:", 4) == 0 ? name + 4 : name;
  const eb_api_call *call = eb_api_call_find("job", plain);
  if (call == NULL)
    call = eb_api_call_find("", plain);
  const eb_api_table *table = eb_api_table_find(plain);
  if (call == NULL && table == NULL)
    return unknown_name(run, name);
  if (call != NULL)
    say_call(page, call);
  if (call != NULL && call->take_count == 1 && call->of[0] == '\0' && is_table(call->takes[0].type))
    table = eb_api_table_find(call->takes[0].type);
  if (table != NULL && !(call != NULL && has_call(table)))
    say_table(page, table);
  return EB_EXIT_DONE;
}

/* Not wrapped and not made plain: another program reads it. */
static int print_raw(const eb_run *run, void (*write)(eb_text *text))
{
  eb_text text;
  eb_text_init(&text, run->host);
  write(&text);
  bool written = !text.failed && fputs(eb_text_string(&text), stdout) >= 0 && fflush(stdout) == 0;
  if (!written)
    eb_run_remark(run, text.failed ? "out of memory" : "standard output cannot be written");
  eb_text_clear(&text);
  return written ? EB_EXIT_DONE : EB_EXIT_FAILED;
}

static int wrong(const eb_run *run, const char *place, const char *message)
{
  eb_error error;
  eb_fail(&error, EB_BAD_VALUE, place, "%s", message);
  eb_run_complain(run, &error);
  return EB_EXIT_USAGE;
}

int eb_run_manual(const eb_run *run)
{
  const char *as = run->options.as == NULL ? "text" : run->options.as;
  const char *name = run->options.value_count > 0 ? run->options.values[0] : NULL;
  if (strcmp(run->options.argument, "api") != 0)
    return wrong(run, run->options.argument, "there is no manual of that; there is evenbore manual api");
  if (strcmp(as, "text") != 0 && name != NULL)
    return wrong(run, name, "one name alone is told as text; leave out --as");
  if (strcmp(as, "lua") == 0)
    return print_raw(run, eb_api_write_lua);
  if (strcmp(as, "luacheck") == 0)
    return print_raw(run, eb_api_write_luacheck);
  if (strcmp(as, "text") != 0)
    return wrong(run, "--as", "text, lua or luacheck is wanted");
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  int status = EB_EXIT_DONE;
  if (name == NULL)
    say_all(&page);
  else
    status = say_one(run, &page, name);
  if (status == EB_EXIT_DONE)
    return eb_run_print(run, &page);
  eb_page_clear(&page);
  return status;
}
