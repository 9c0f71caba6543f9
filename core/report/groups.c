/* Answers gathered under their titles: asked ten times, told in one row, each with its record. */
#include "forms.h"
#include "html.h"

#include "evenbore/format.h"

#include <stdio.h>
#include <string.h>

typedef struct entry {
  const char *title;
  size_t index; /* of the record, from 0 */
  bool told;
} entry;

typedef struct entries {
  const story *s;
  entry *entry;
  size_t count;
} entries;

static bool is_one_of(const char *word, const char *const *words)
{
  for (; *words != NULL; words++)
    if (strcmp(word, *words) == 0)
      return true;
  return false;
}

/* False where memory runs out. */
static bool gather(const story *s, const char *const *kinds, entries *found)
{
  const eb_account *account = s->account;
  const eb_host *host = account->host;
  *found = (entries){.s = s};
  found->entry = host->allocate(host->context, NULL, (account->count + 1) * sizeof *found->entry);
  for (size_t i = 0; found->entry != NULL && i < account->count; i++) {
    const eb_json *ask = eb_json_get(eb_account_record(account, i), "ask");
    if (account->taken_back_by[i] == 0 && is_one_of(eb_json_get_string(ask, "kind", ""), kinds))
      found->entry[found->count++] = (entry){.title = eb_json_get_string(ask, "title", "?"), .index = i};
  }
  return found->entry != NULL;
}

static void release(entries *found)
{
  const eb_host *host = found->s->account->host;
  host->allocate(host->context, found->entry, 0);
}

const char *story_answer(const story *s, size_t index, char *text, size_t size)
{
  char given[200];
  const eb_json *record = eb_account_record(s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  const eb_json *typed = eb_json_get(record, "given");
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "caution") == 0)
    return eb_format_clock(eb_json_get_string(record, "time", ""), text);
  if (strcmp(kind, "choose") == 0)
    snprintf(text, size, "%s", eb_account_option(ask, value));
  else if (strcmp(kind, "confirm") == 0)
    snprintf(text, size, "%s", eb_json_as_bool(value, false) ? "yes" : "no");
  else
    eb_format_value(value, eb_json_get_string(record, "unit", ""), text, size);
  if (typed != NULL && strcmp(eb_format_value(typed, "", given, sizeof given), text) != 0) {
    size_t used = strlen(text);
    snprintf(text + used, size - used, ", given as %s", given);
  }
  return text;
}

/* "84 C (38, 82), 79 C (77)": the same answer in a row is told once. */
static void tell_group(entries *found, size_t first, eb_text *line)
{
  char last[600] = "", answer[600];
  const char *title = found->entry[first].title;
  bool any = false;
  for (size_t i = first; i < found->count; i++) {
    entry *e = &found->entry[i];
    if (e->told || strcmp(e->title, title) != 0)
      continue;
    e->told = true;
    story_answer(found->s, e->index, answer, sizeof answer);
    if (any && strcmp(answer, last) == 0)
      eb_text_printf(line, ", %zu", e->index + 1);
    else
      eb_text_printf(line, "%s%s (%zu", any ? "), " : "", answer, e->index + 1);
    snprintf(last, sizeof last, "%s", answer);
    any = true;
  }
  eb_text_add(line, ")");
}

void groups_each(const story *s, const char *const *kinds, group_writer write, eb_text *text)
{
  entries found;
  eb_text line;
  if (!gather(s, kinds, &found)) {
    text->failed = true;
    return;
  }
  eb_text_init(&line, text->host);
  for (size_t i = 0; i < found.count; i++) {
    if (found.entry[i].told)
      continue;
    eb_text_reset(&line);
    tell_group(&found, i, &line);
    write(text, found.entry[i].title, eb_text_string(&line));
  }
  text->failed = text->failed || line.failed;
  eb_text_clear(&line);
  release(&found);
}

static void write_line(eb_text *page, const char *title, const char *answers)
{
  eb_text_add(page, "<li><b>");
  html_text(page, title);
  eb_text_add(page, "</b> ");
  html_text(page, answers);
  eb_text_add(page, "</li>\n");
}

void groups_list(const story *s, const char *const *kinds, const char *otherwise, eb_text *page)
{
  eb_text list;
  eb_text_init(&list, page->host);
  groups_each(s, kinds, write_line, &list);
  if (list.size == 0)
    eb_text_printf(page, "<p>%s</p>\n", otherwise);
  else
    eb_text_add(page, "<ul class=\"columns\">\n");
  eb_text_add(page, eb_text_string(&list));
  eb_text_add(page, list.size == 0 ? "" : "</ul>\n");
  page->failed = page->failed || list.failed;
  eb_text_clear(&list);
}
