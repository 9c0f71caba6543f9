/* What a rehearsal came to, as text and as JSON. */
#include "call_sites.h"
#include "rehearse.h"

#include "evenbore/format.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Quoted for a shell, unless it needs none. */
static void add_word(eb_text *text, const char *word)
{
  bool plain = word[0] != '\0';
  for (const char *c = word; *c != '\0'; c++)
    plain = plain && (isalnum((unsigned char)*c) || strchr("/._-~+%=,", *c) != NULL);
  if (plain) {
    eb_text_add(text, word);
    return;
  }
  eb_text_add(text, "'");
  for (const char *c = word; *c != '\0'; c++)
    eb_text_printf(text, *c == '\'' ? "'\\''" : "%c", *c);
  eb_text_add(text, "'");
}

const char *eb_rehearse_again(const eb_rehearse *o, uint64_t seed, char *text, size_t size)
{
  const eb_options *given = &o->run->options;
  char data[256];
  eb_text line;
  eb_text_init(&line, o->run->host);
  eb_text_add(&line, "evenbore rehearse ");
  eb_text_add(&line, given->argument[0] == '-' ? "./" : ""); /* a file, and no option */
  add_word(&line, given->argument);
  eb_text_printf(&line, " --engines 1 --seed %llu", (unsigned long long)seed);
  if (given->faults != NULL)
    eb_text_printf(&line, " --faults %s", given->faults);
  if (given->tolerance > 0)
    eb_text_printf(&line, " --tolerance %g%%", given->tolerance * 100);
  if (given->risk > 0)
    eb_text_printf(&line, " --risk %g%%", given->risk * 100);
  if (given->gauge != NULL) {
    eb_text_add(&line, " --gauge ");
    add_word(&line, given->gauge);
  }
  eb_text_add(&line, eb_run_data(o->run, data, sizeof data));
  eb_text_add(&line, given->trust_file ? " --trust-file --show" : " --show");
  snprintf(text, size, "%s", eb_text_string(&line));
  eb_text_clear(&line);
  return text;
}

static const char *percent(int part, int all, char text[EB_FORMAT_SIZE])
{
  return eb_format_percent(all > 0 ? (double)part / all : 0, false, text);
}

static bool has_faults(const eb_rehearse *o)
{
  const char *faults = o->run->options.faults;
  return faults != NULL && strcmp(faults, "none") != 0;
}

static void say_head(eb_page *page, const eb_rehearse *o)
{
  char head[400];
  const char *faults = o->run->options.faults;
  snprintf(head, sizeof head, "%.200s (%.60s %.60s)", o->title, o->id, o->version);
  eb_page_paragraph(page, EB_STRONG, "", "  ", head);
  bool none = !has_faults(o);
  const char *words = none ? "no faults" : strcmp(faults, "all") == 0 ? "one fault each" : faults;
  eb_page_sayf(page, "%d simulated engine%s from seed %llu; %s%s.", o->engines, o->engines == 1 ? "" : "s",
               (unsigned long long)o->seed, none || strcmp(faults, "all") == 0 ? "" : "fault: ", words);
  eb_page_blank(page);
}

/* Whether a row of a table stands on one line. */
static bool is_wide(const eb_page *page)
{
  return page->columns >= 60;
}

static void say_count(eb_page *page, const char *word, int part, int all, const char *what)
{
  char number[24], share[EB_FORMAT_SIZE];
  snprintf(number, sizeof number, "%d", part);
  eb_page_put(page, EB_PLAIN, "  ");
  eb_page_cell(page, EB_PLAIN, word, 8);
  eb_page_cell(page, EB_STRONG, number, -6);
  eb_page_cell(page, EB_PLAIN, percent(part, all, share), -9);
  if (is_wide(page)) {
    eb_page_put(page, EB_PLAIN, "  ");
    eb_page_put(page, EB_PLAIN, what);
  }
  eb_page_end(page);
  if (!is_wide(page))
    eb_page_paragraph(page, EB_PLAIN, "    ", "    ", what);
}

static void say_ends(eb_page *page, const eb_tally *t, bool faulty)
{
  static const char *const what[EB_REHEARSAL_ENDS] = {"of all engines", "ended with less than was wanted",
                                                      "never come to an end", "the procedure's error"};
  for (int end = 0; end < EB_REHEARSAL_ENDS; end++)
    say_count(page, eb_rehearsal_end_word((eb_rehearsal_end)end), t->ended[end], t->engines, what[end]);
  say_count(page, "wrong", t->wrong, t->claims, "of all claims do not hold");
  if (faulty)
    say_count(page, "named", t->named, t->engines, "the fault came to light");
  eb_page_blank(page);
}

static void add_bars(eb_page *page, const eb_figures *f)
{
  static const char *const blocks[] = {" ",      "\u2581", "\u2582", "\u2583", "\u2584",
                                       "\u2585", "\u2586", "\u2587", "\u2588"};
  static const char *const marks[] = {" ", ".", ".", ":", ":", "+", "+", "#", "#"};
  int most = 0;
  for (int i = 0; i < EB_TALLY_BINS; i++)
    most = f->bin[i] > most ? f->bin[i] : most;
  for (int i = 0; i < EB_TALLY_BINS && f->most > f->least; i++) {
    int height = (int)ceil(8.0 * f->bin[i] / most);
    eb_page_put(page, EB_PLAIN, page->utf8 ? blocks[height] : marks[height]);
  }
}

static void say_figures(eb_page *page, const eb_tally *t)
{
  const int width = is_wide(page) ? 9 : 8;
  eb_page_cell(page, EB_PLAIN, "", is_wide(page) ? 10 : 8);
  const char *const heads[] = {"median", "9 in 10", "least", "most"};
  for (size_t i = 0; i < 4; i++)
    eb_page_cell(page, EB_PLAIN, heads[i], -width);
  eb_page_end(page);
  for (int what = 0; what < EB_FIGURES; what++) {
    const eb_figures *f = &t->figures[what];
    const double values[] = {f->median, f->high, f->least, f->most};
    char number[EB_FORMAT_SIZE];
    eb_page_put(page, EB_PLAIN, is_wide(page) ? "  " : "");
    eb_page_cell(page, EB_PLAIN, f->word, 8);
    for (size_t i = 0; i < 4; i++)
      eb_page_cell(page, EB_PLAIN, eb_format_fixed(values[i], 0, number), -width);
    if (!is_wide(page) && f->most > f->least)
      eb_page_end(page);
    eb_page_put(page, EB_PLAIN, "  ");
    add_bars(page, f);
    eb_page_end(page);
  }
  eb_page_blank(page);
}

static void say_minutes(eb_page *page, const eb_tally *t)
{
  char line[300];
  size_t used = (size_t)snprintf(line, sizeof line, "Minutes, mean:");
  for (int k = 0; k < EB_BAY_MINUTES; k++)
    used += (size_t)snprintf(line + used, sizeof line - used, "%s %s %.0f", k == 0 ? "" : ",",
                             eb_bay_minutes_word((eb_bay_minutes)k), t->minutes_of[k]);
  eb_page_sayf(page, "%s.", line);
}

static void say_findings(eb_page *page, const eb_tally *t)
{
  if (t->findings == 0)
    return;
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "", "Found:");
  for (int i = 0; i < t->findings; i++) {
    char line[900];
    const char *text = t->finding[i].text;
    snprintf(line, sizeof line, "%d of %d (first seed %llu): %s%s", t->finding[i].engines, t->engines,
             (unsigned long long)t->finding[i].seed, text, text[strlen(text) - 1] == '?' ? "" : ".");
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
  }
  if (t->unlisted > 0) {
    char line[120];
    snprintf(line, sizeof line, "and other troubles, %d in all, each of few engines.", t->unlisted);
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
  }
}

/* The next place in the procedure's own text that asks, and was not come to. */
static bool next_unasked(const eb_rehearse *o, size_t *at, unsigned *line, const char **call)
{
  const eb_source *source = &o->rehearsal->loaded->source;
  while (eb_call_site_next(source->text, source->size, at, line, call))
    if (*line < o->rehearsal->lines && atomic_load(&o->rehearsal->asked[*line]) == 0)
      return true;
  return false;
}

static void say_unasked(eb_page *page, const eb_rehearse *o)
{
  size_t at = 0;
  unsigned line = 1;
  const char *call = NULL;
  bool head = false;
  while (next_unasked(o, &at, &line, &call)) {
    if (!head) {
      eb_page_blank(page);
      eb_page_paragraph(page, EB_STRONG, "", "", "Written, and asked on no engine:");
    }
    head = true;
    char text[300];
    snprintf(text, sizeof text, "%.200s:%u %s", o->rehearsal->loaded->source.name, line, call);
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", text);
  }
}

static void describe(const eb_rehearsed *r, char *text, size_t size)
{
  char claim[EB_FORMAT_SIZE], spread[EB_FORMAT_SIZE];
  if (r->end == EB_REHEARSAL_STUCK || r->end == EB_REHEARSAL_FAILED)
    snprintf(text, size, "%s", eb_rehearsal_end_word(r->end));
  else if (!r->claims)
    snprintf(text, size, "claims nothing");
  else
    snprintf(text, size, "%s %s, truly %s%s", r->end == EB_REHEARSAL_EVEN ? "even within" : "claims",
             eb_format_percent(eb_format_round_up(r->claim), false, claim), eb_format_percent(r->spread, false, spread),
             eb_rehearsed_wrong(r) ? ": wrong" : "");
}

/* A command that is to be copied stands on a line of its own, unbroken: a terminal that breaks it joins it again. */
static void say_again(eb_page *page, const eb_rehearse *o, uint64_t seed)
{
  char again[600];
  eb_page_put(page, EB_PLAIN, "  ");
  eb_page_put(page, EB_PLAIN, eb_rehearse_again(o, seed, again, sizeof again));
  eb_page_end(page);
}

static void say_worst(eb_page *page, const eb_rehearse *o)
{
  const eb_tally *t = o->tally;
  if (t->worst_count == 0)
    return;
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "", o->engines == 1 ? "In the end:" : "The worst of them:");
  for (int i = 0; i < t->worst_count; i++) {
    char what[160], line[240];
    describe(t->worst[i], what, sizeof what);
    snprintf(line, sizeof line, "seed %llu: %s", (unsigned long long)t->worst[i]->seed, what);
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
    if (o->engines > 1)
      say_again(page, o, t->worst[i]->seed);
  }
}

static void say_missed(eb_page *page, const eb_rehearse *o)
{
  const char *missed = eb_bars_missed(&o->bars, o->tally);
  if (missed == NULL)
    return;
  eb_page_blank(page);
  char line[80];
  snprintf(line, sizeof line, "Not good enough: the bar of \"%s\" is missed.", missed);
  eb_page_paragraph(page, EB_ALARM, "", "", line);
}

int eb_rehearse_print(const eb_rehearse *o)
{
  eb_page page;
  eb_page_init(&page, o->run->host, o->run->columns, o->run->utf8, o->run->styled);
  say_head(&page, o);
  say_ends(&page, o->tally, has_faults(o));
  say_figures(&page, o->tally);
  say_minutes(&page, o->tally);
  say_findings(&page, o->tally);
  say_unasked(&page, o);
  say_worst(&page, o);
  say_missed(&page, o);
  return eb_run_print(o->run, &page);
}

static eb_json *unasked_json(const eb_rehearse *o)
{
  size_t at = 0;
  unsigned line = 1;
  const char *call = NULL;
  eb_json *list = eb_json_array();
  bool ok = list != NULL;
  while (ok && next_unasked(o, &at, &line, &call)) {
    char text[300];
    snprintf(text, sizeof text, "%.200s:%u", o->rehearsal->loaded->source.name, line);
    eb_json *one = eb_json_object();
    ok = eb_json_set_string(one, "at", text) && eb_json_set_string(one, "call", call);
    ok = eb_json_add(list, one) && ok;
  }
  if (ok)
    return list;
  eb_json_destroy(list);
  return NULL;
}

static eb_json *engine_json(const eb_rehearse *o, const eb_rehearsed *r)
{
  char again[600];
  eb_json *one = eb_json_object();
  bool ok = eb_json_set_number(one, "seed", (double)r->seed) &&
            eb_json_set_string(one, "end", eb_rehearsal_end_word(r->end)) &&
            eb_json_set(one, "claim", r->claims ? eb_json_from_number(r->claim) : eb_json_null()) &&
            eb_json_set_number(one, "truth", r->spread) && eb_json_set_number(one, "began", r->began) &&
            eb_json_set_bool(one, "wrong", eb_rehearsed_wrong(r)) && eb_json_set_string(one, "why", r->why) &&
            eb_json_set_string(one, "again", eb_rehearse_again(o, r->seed, again, sizeof again));
  if (ok)
    return one;
  eb_json_destroy(one);
  return NULL;
}

static eb_json *worst_json(const eb_rehearse *o)
{
  eb_json *list = eb_json_array();
  bool ok = list != NULL;
  for (int i = 0; ok && i < o->tally->worst_count; i++)
    ok = eb_json_add(list, engine_json(o, o->tally->worst[i]));
  if (ok)
    return list;
  eb_json_destroy(list);
  return NULL;
}

static eb_json *result_json(const eb_rehearse *o)
{
  const eb_tally *t = o->tally;
  const char *faults = o->run->options.faults, *missed = eb_bars_missed(&o->bars, t);
  eb_json *made = eb_json_object();
  bool ok = eb_json_set_string(made, "procedure", o->id) && eb_json_set_string(made, "version", o->version) &&
            eb_json_set_number(made, "engines", o->engines) && eb_json_set_number(made, "seed", (double)o->seed) &&
            eb_json_set_string(made, "faults", faults == NULL ? "none" : faults);
  ok = ok && eb_tally_add_json(t, made) && eb_json_set_number(made, "safe", t->safe) &&
       eb_json_set_number(made, "named", t->named) && eb_json_set(made, "never_asked", unasked_json(o)) &&
       eb_json_set(made, "worst", worst_json(o)) &&
       eb_json_set(made, "missed", missed == NULL ? eb_json_null() : eb_json_from_string(missed));
  if (ok)
    return made;
  eb_json_destroy(made);
  return NULL;
}

int eb_rehearse_print_json(const eb_rehearse *o)
{
  return eb_run_print_json(o->run, result_json(o));
}

static const char *row_name(int row)
{
  return row == 0 ? "none" : eb_fault_word((eb_fault)(row - 1));
}

/* What is told of each fault. */
static const struct {
  const char *head;
  int width;
} columns[] = {{"safe", 7},   {"named", 7}, {"wrong", 7},     {"even", 7},
               {"no end", 8}, {"stops", 7}, {"readings", 10}, {"minutes", 9}};
enum { COLUMNS = sizeof columns / sizeof columns[0], NAME = 13, TABLE = 75 };

/* On a narrow screen the numbers stand behind their words. */
static void say_number(eb_page *page, size_t at, const char *number)
{
  char pair[40];
  if (page->columns >= TABLE) {
    eb_page_cell(page, at == 0 ? EB_STRONG : EB_PLAIN, number, -columns[at].width);
    return;
  }
  snprintf(pair, sizeof pair, "  %s %s", columns[at].head, number);
  if (page->column + (int)strlen(pair) > page->columns)
    eb_page_end(page);
  eb_page_put(page, EB_PLAIN, pair);
}

static void say_row(eb_page *page, int row, const eb_tally *t)
{
  eb_page_cell(page, EB_PLAIN, row_name(row), NAME);
  if (t->engines == 0) {
    eb_page_put(page, EB_PLAIN, " this engine cannot have it");
    eb_page_end(page);
    return;
  }
  if (page->columns < TABLE)
    eb_page_end(page);
  const int numbers[COLUMNS] = {t->safe,
                                t->named,
                                t->wrong,
                                t->ended[EB_REHEARSAL_EVEN],
                                t->ended[EB_REHEARSAL_STUCK] + t->ended[EB_REHEARSAL_FAILED],
                                (int)t->figures[EB_STOPS].median,
                                (int)t->figures[EB_READINGS].median,
                                (int)t->figures[EB_MINUTES].median};
  for (size_t i = 0; i < COLUMNS; i++) {
    char number[24];
    snprintf(number, sizeof number, "%d", numbers[i]);
    say_number(page, i, row == 0 && i == 1 ? "-" : number);
  }
  eb_page_end(page);
}

static void say_heads(eb_page *page)
{
  if (page->columns < TABLE)
    return;
  eb_page_cell(page, EB_PLAIN, "fault", NAME);
  for (size_t i = 0; i < COLUMNS; i++)
    eb_page_cell(page, EB_PLAIN, columns[i].head, -columns[i].width);
  eb_page_end(page);
}

int eb_rehearse_print_each(const eb_rehearse *o, const eb_tally *rows, int count)
{
  eb_page page;
  char head[400];
  eb_page_init(&page, o->run->host, o->run->columns, o->run->utf8, o->run->styled);
  snprintf(head, sizeof head, "%.200s (%.60s %.60s)", o->title, o->id, o->version);
  eb_page_paragraph(&page, EB_STRONG, "", "  ", head);
  eb_page_sayf(&page, "%d simulated engines for each fault, from seed %llu; stops, readings, minutes: median.",
               o->engines, (unsigned long long)o->seed);
  eb_page_blank(&page);
  say_heads(&page);
  for (int row = 0; row < count; row++)
    say_row(&page, row, &rows[row]);
  return eb_run_print(o->run, &page);
}

static eb_json *row_json(int row, const eb_tally *t)
{
  eb_json *made = eb_json_object();
  bool ok = eb_json_set_string(made, "fault", row_name(row)) && eb_json_set_number(made, "engines", t->engines) &&
            eb_json_set_number(made, "safe", t->safe) && eb_json_set_number(made, "named", t->named) &&
            eb_json_set_number(made, "claims", t->claims) && eb_json_set_number(made, "wrong", t->wrong);
  for (int end = 0; ok && end < EB_REHEARSAL_ENDS; end++)
    ok = eb_json_set_number(made, eb_rehearsal_end_word((eb_rehearsal_end)end), t->ended[end]);
  if (ok)
    return made;
  eb_json_destroy(made);
  return NULL;
}

int eb_rehearse_print_each_json(const eb_rehearse *o, const eb_tally *rows, int count)
{
  eb_json *made = eb_json_object(), *table = eb_json_array();
  bool ok = eb_json_set_string(made, "procedure", o->id) && eb_json_set_string(made, "version", o->version) &&
            eb_json_set_number(made, "seed", (double)o->seed) && eb_json_set_string(made, "faults", "each");
  for (int row = 0; row < count; row++)
    ok = eb_json_add(table, row_json(row, &rows[row])) && ok;
  if (!eb_json_set(made, "table", table) || !ok) {
    eb_json_destroy(made);
    made = NULL;
  }
  return eb_run_print_json(o->run, made);
}
