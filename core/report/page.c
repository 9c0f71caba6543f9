/* The page: what a customer reads first stands first; the figures that anyone can check follow. */
#include "forms.h"
#include "html.h"

#include "evenbore/format.h"
#include "evenbore/gauge.h"

#include <stdio.h>
#include <string.h>

/* Dark blue, ochre and grey keep apart for every kind of colour vision, and on paper without colour shapes and words
 * do; text has a contrast of 7 to 1 or more. */
static const char style[] =
    "<style>\n"
    ":root{color-scheme:light;--ink:#14181d;--soft:#4a5360;--line:#aab2bd;--even:#0b3d75;--off:#8a4b00;--band:#d5e3f3}"
    "\n"
    "*{box-sizing:border-box}\n"
    "body{margin:0;background:#fff;color:var(--ink);font:16px/1.45 system-ui,sans-serif}\n"
    "header,main{max-width:50rem;margin:0 auto;padding:0 1rem}\n"
    "h1,h2,h3,figcaption{overflow-wrap:anywhere}h1{font-size:1.6rem;margin:1rem 0 "
    ".2rem}h2{font-size:1.2rem;margin:1.6rem 0 .4rem;border-bottom:2px solid "
    "var(--line)}h3{font-size:1rem;margin:1rem 0 .2rem}p{margin:.5rem 0}ul{margin:.3rem 0;padding-left:1.2rem}\n"
    ".claim{font-size:1.15rem;font-weight:600;border-left:6px solid var(--even);padding:.4rem .8rem;margin:.8rem 0}\n"
    ".claim.short{border-left-style:double;border-color:var(--off)}\n"
    ".warning{border:2px solid var(--off);padding:.3rem .8rem}\n"
    "svg{display:block;width:100%;height:auto;font:13px system-ui,sans-serif;fill:var(--ink)}\n"
    "figure{margin:.6rem 0}figcaption{font-weight:600}\n"
    ".cell{fill:none;stroke:var(--line);stroke-width:1.5}.cell.strong{stroke:var(--off);stroke-width:3}\n"
    ".name{font-size:16px;font-weight:700}.bold{font-weight:700}.row,.small{fill:var(--soft)}.small{font-size:11px}\n"
    ".even{fill:var(--even)}.uneven{fill:var(--off)}.unsure{fill:none;stroke:var(--soft);stroke-width:2.5}\n"
    ".lane,.grid{stroke:var(--line);fill:none}.band{fill:var(--band);stroke:var(--even)}\n"
    ".doubt{stroke:var(--ink);stroke-width:2.5;fill:none}.at{fill:var(--ink)}\n"
    ".spread{stroke:var(--ink);stroke-width:2;fill:none}path.claim{stroke:var(--even);stroke-width:2;"
    "stroke-dasharray:7 4;fill:none}.claimed{fill:#fff;stroke:var(--even);stroke-width:2}\n"
    ".wanted{stroke:var(--off);stroke-width:2;stroke-dasharray:2 3;fill:none}.adjusted{stroke:var(--soft);fill:none}\n"
    ".mid{text-anchor:middle}.end{text-anchor:end}\n"
    ".key{list-style:none;margin:.3rem 0;padding:0;font-size:.85rem}.key li{display:inline-block;margin-right:1rem}"
    ".key svg{display:inline-block;width:1rem;height:1rem;margin-right:.35rem;vertical-align:-.2rem}"
    ".key .lane-key{width:3.75rem}\n"
    "table{border-collapse:collapse;width:100%;margin:.5rem 0;font-size:.85rem}\n"
    "caption{text-align:left;font-weight:600;padding:.2rem 0}\n"
    "th,td{border-bottom:1px solid var(--line);padding:.15rem .5rem;text-align:left;vertical-align:top}"
    "td,th[scope=row]{overflow-wrap:anywhere}th[scope=row]{min-width:6.5rem}th:first-child{padding-left:0}\n"
    "thead th{border-bottom:2px solid var(--soft);vertical-align:bottom}th[scope=row]{font-weight:500}\n"
    ".n{text-align:right;font-variant-numeric:tabular-nums}td.n{white-space:nowrap}.r{color:var(--soft)}\n"
    ".columns{columns:2 18rem;column-gap:2rem;font-size:.85rem}.columns b{font-weight:600}\n"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:.4rem 0}dt{color:var(--soft)}"
    "dd{margin:0;overflow-wrap:anywhere}li,p{overflow-wrap:anywhere}\n"
    "@page{margin:13mm}\n"
    "@media print{:root{--line:#777}body{font-size:9.5pt;line-height:1.3}header,main{max-width:none;padding:0}"
    "h1,h2,h3{margin-top:.7rem}tr,li,figure,.claim,.warning{break-inside:avoid}h2,h3,caption,thead{break-after:avoid}"
    "table,.key{font-size:8pt}.columns{columns:3 "
    "12rem;font-size:8pt}th,td{padding-top:.08rem;padding-bottom:.08rem}.key+table{break-inside:avoid}svg.engine{width:"
    "84%}svg.course{width:80%}}\n"
    "</style>\n";

void page_style(eb_text *page)
{
  eb_text_add(page, style);
}

void page_pair(eb_text *page, const char *name, const char *text)
{
  if (text[0] == '\0')
    return;
  eb_text_add(page, "<dt>");
  html_text(page, name);
  eb_text_add(page, "</dt><dd>");
  html_text(page, text);
  eb_text_add(page, "</dd>\n");
}

static void write_known(const story *s, eb_text *page)
{
  eb_text words;
  eb_text_init(&words, page->host);
  story_known(s, &words);
  page_pair(page, "Known before", eb_text_string(&words));
  page->failed = page->failed || words.failed;
  eb_text_clear(&words);
}

static void write_head(const story *s, eb_text *page)
{
  char date[EB_FORMAT_SIZE], wanted[EB_FORMAT_SIZE], risk[EB_FORMAT_SIZE], line[400];
  const eb_json *procedure = eb_json_get(s->open, "procedure");
  const char *engine = eb_json_get_string(eb_json_get(s->open, "inputs"), "engine", "");
  eb_text_add(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Airflow record");
  if (engine[0] != '\0') {
    eb_text_add(page, ", ");
    html_text(page, engine);
  }
  eb_text_add(page, "</title>\n");
  eb_text_add(page, style);
  eb_text_add(page, "</head>\n<body>\n<header>\n<h1>Airflow record");
  if (engine[0] != '\0') {
    eb_text_add(page, ": ");
    html_text(page, engine);
  }
  eb_text_add(page, "</h1>\n<dl>\n");
  page_pair(page, "Date", eb_format_date(eb_json_get_string(s->open, "time", ""), date));
  page_pair(page, "Procedure", eb_json_get_string(procedure, "title", ""));
  page_pair(page, "Gauge", eb_gauge_describe(eb_json_get(s->open, "gauge"), line, sizeof line));
  snprintf(line, sizeof line, "every bore within %s of their mean, at a risk of %s of being wrong",
           eb_format_percent(eb_json_get_number(s->open, "tolerance", 0), false, wanted),
           eb_format_percent(eb_json_get_number(s->open, "risk", 0), false, risk));
  page_pair(page, "Wanted", line);
  write_known(s, page);
  eb_text_add(page, "</dl>\n</header>\n<main>\n");
}

static void write_warning(eb_text *page, const char *line)
{
  eb_text_add(page, "<p class=\"warning\">");
  html_text(page, line);
  eb_text_add(page, "</p>\n");
}

/* Sentences that `tell` puts together, as a paragraph. */
static void write_sentences(const story *s, void (*tell)(const story *, eb_text *), const char *open, const char *end,
                            eb_text *page)
{
  eb_text sentence;
  eb_text_init(&sentence, page->host);
  tell(s, &sentence);
  eb_text_add(page, open);
  html_text(page, eb_text_string(&sentence));
  eb_text_printf(page, "%s</p>\n", end);
  page->failed = page->failed || sentence.failed;
  eb_text_clear(&sentence);
}

/* What the job itself said at its end stands here where the claim does not say it all. */
static void write_claim(const story *s, eb_text *page)
{
  double tolerance, risk;
  bool claims = story_claim(s, &tolerance, &risk);
  bool even = claims && strcmp(eb_json_get_string(s->end, "outcome", ""), "even") == 0;
  const char *summary = eb_json_get_string(s->end, "summary", "");
  write_sentences(s, story_sentence, even ? "<p class=\"claim\">" : "<p class=\"claim short\">", ".", page);
  story_warnings(s, write_warning, page);
  if (summary[0] != '\0' && (!claims || s->state != STORY_ENDED)) {
    eb_text_add(page, "<p>");
    html_text(page, summary);
    eb_text_add(page, "</p>\n");
  }
  write_sentences(s, story_plain, "<p>", "", page);
}

static void cell_deviation(const eb_json *bore, eb_text *page)
{
  char number[EB_FORMAT_SIZE], doubt[EB_FORMAT_SIZE], text[EB_FORMAT_SIZE * 2 + 8];
  if (!eb_json_is_number(eb_json_get(bore, "deviation"))) {
    html_number(page, "\xe2\x80\x93");
    return;
  }
  snprintf(text, sizeof text, "%s \xc2\xb1%s",
           eb_format_percent(eb_json_get_number(bore, "deviation", 0), true, number),
           eb_format_fixed(eb_json_get_number(bore, "doubt", 0) * 100, 1, doubt));
  html_number(page, text);
}

static void cells_bore(const eb_json *bore, eb_text *page)
{
  char number[EB_FORMAT_SIZE];
  const eb_json *value = eb_json_get(bore, "value");
  html_number(page, eb_json_is_number(value) ? story_value(value, number) : "\xe2\x80\x93");
  cell_deviation(bore, page);
  html_cell(page, eb_json_get_string(bore, "word", "not read"));
}

static void open_bores(const story *s, const story_verdict *first, const story_verdict *last, eb_text *page)
{
  static const char *const once[] = {"Bore", ">Reading", ">Deviation", "Word", NULL};
  static const char *const twice[] = {"Bore",           ">Reading before",  ">Deviation before", "Word before",
                                      ">Reading after", ">Deviation after", "Word after",        NULL};
  char caption[200], records[EB_FORMAT_SIZE];
  snprintf(caption, sizeof caption,
           "Bores: reading in %.20s, deviation from the mean with its standard uncertainty, and word (%s)",
           story_unit(s, last), story_records(first, last, records));
  html_table(page, caption, last == first ? once : twice);
}

static void write_bores(const story *s, const story_verdict *first, const story_verdict *last, eb_text *page)
{
  open_bores(s, first, last, page);
  for (int i = 0; i < s->layout.bore_count; i++) {
    eb_text_add(page, "<tr><th scope=\"row\">");
    html_text(page, s->layout.bore[i]);
    eb_text_add(page, "</th>");
    cells_bore(eb_json_get(eb_json_get(first->verdict, "bores"), s->layout.bore[i]), page);
    if (last != first)
      cells_bore(eb_json_get(eb_json_get(last->verdict, "bores"), s->layout.bore[i]), page);
    eb_text_add(page, "</tr>\n");
  }
  html_table_end(page);
}

static void write_engine(const story *s, const story_verdict *verdict, const char *name, const char *title,
                         eb_text *page)
{
  char spread[EB_FORMAT_SIZE], caption[160];
  snprintf(caption, sizeof caption, "%s: greatest deviation %s", title,
           eb_format_percent(verdict->spread, false, spread));
  eb_text_add(page, "<figure><figcaption>");
  html_text(page, caption);
  eb_text_add(page, "</figcaption>\n");
  figure_engine(s, verdict, name, title, page);
  eb_text_add(page, "</figure>\n");
}

static void write_engines(const story *s, eb_text *page)
{
  const story_verdict *first = story_first(s);
  const story_verdict *last = story_last(s);
  if (first == NULL || !s->has_layout) {
    eb_text_add(page, "<p>No bore has been judged yet.</p>\n");
    return;
  }
  eb_text_add(page, last == first ? "<h2>What was measured</h2>\n" : "<h2>Before and after</h2>\n");
  write_engine(s, first, "before", last == first ? "The one verdict" : "Before", page);
  if (last != first)
    write_engine(s, last, "after", s->end == NULL ? "At the last verdict" : "After", page);
  figure_key(eb_json_get_number(last->verdict, "tolerance", 0.05), page);
  write_bores(s, first, last, page);
}

static void write_others(const story *s, eb_text *page)
{
  static const char *const heads[] = {"Condition", ">Greatest deviation", "Bore farthest off", "Word", ">Record", NULL};
  size_t count = 0;
  for (size_t i = 0; i < s->verdict_count; i++)
    count += story_is_main(s, &s->verdict[i]) ? 0 : 1;
  if (count == 0)
    return;
  html_table(page, "Verdicts in other conditions", heads);
  for (size_t i = 0; i < s->verdict_count; i++) {
    const story_verdict *v = &s->verdict[i];
    char number[EB_FORMAT_SIZE];
    if (story_is_main(s, v))
      continue;
    eb_text_add(page, "<tr><th scope=\"row\">");
    html_text(page, v->condition);
    eb_text_add(page, "</th>");
    html_number(page, eb_format_percent(v->spread, false, number));
    html_cell(page, eb_json_get_string(v->verdict, "worst", ""));
    html_cell(page, eb_json_get_string(v->verdict, "word", ""));
    html_record(page, v->record);
    eb_text_add(page, "</tr>\n");
  }
  html_table_end(page);
}

static void write_procedure(const story *s, eb_text *page)
{
  char line[300];
  const eb_json *procedure = eb_json_get(s->open, "procedure");
  snprintf(line, sizeof line, "%.80s %.40s, SHA-256 %.64s", eb_json_get_string(procedure, "id", "?"),
           eb_json_get_string(procedure, "version", "?"), eb_json_get_string(procedure, "digest", "?"));
  page_pair(page, "Procedure", line);
  story_maker(s, line, sizeof line);
  page_pair(page, "Its maker", line);
  page_pair(page, "Program", eb_json_get_string(s->open, "program", "?"));
}

static void write_trace(const story *s, eb_text *page)
{
  char line[600], date[EB_FORMAT_SIZE];
  eb_text_add(page, "<h2>How to trace a figure</h2>\n<p>The session's journal is a text file, one record a line. Each "
                    "figure above names the record, counted from 1, that it comes from: in a column, or in brackets. "
                    "The digest of the last record covers all of them against accident; it does not prove who wrote "
                    "them.</p>\n<dl>\n");
  page_pair(page, "Session", eb_json_get_string(s->open, "session", "?"));
  snprintf(line, sizeof line, "%zu", s->account->count);
  page_pair(page, "Records", line);
  page_pair(page, "Journal's digest", eb_journal_digest(s->account->journal));
  write_procedure(s, page);
  if (s->end != NULL) {
    snprintf(line, sizeof line, "%.40s (record %zu): %.500s",
             eb_format_date(eb_json_get_string(s->end, "time", ""), date), s->account->count,
             eb_json_get_string(s->end, "summary", ""));
    page_pair(page, "Ended", line);
  }
  eb_text_add(page, "</dl>\n");
}

static void write_answers(const story *s, eb_text *page)
{
  static const char *const facts[] = {"number", "text", NULL};
  static const char *const checks[] = {"confirm", "choose", NULL};
  eb_text_add(page, "<h2>Conditions and checks</h2>\n<p>In brackets: the record of each answer.</p>\n"
                    "<h3>Temperatures, speeds, lengths and other facts</h3>\n");
  groups_list(s, facts, "None was asked.", page);
  eb_text_add(page, "<h3>Checks and choices, the gauge's vent among them</h3>\n");
  groups_list(s, checks, "None was asked.", page);
}

void form_page(const story *s, eb_text *page)
{
  write_head(s, page);
  write_claim(s, page);
  write_engines(s, page);
  eb_text_add(page, "<h2>How it got there</h2>\n");
  if (story_first(s) == NULL)
    eb_text_add(page, "<p>There is no verdict yet.</p>\n");
  figure_course(s, page);
  tables_moves(s, page);
  tables_effects(s, page);
  write_others(s, page);
  write_answers(s, page);
  eb_text_add(page, "<h2>People</h2>\n");
  tables_people(s, page);
  write_trace(s, page);
  eb_text_add(page, "</main>\n</body>\n</html>\n");
}
