#include "chart.h"

#include "evenbore/format.h"
#include "evenbore/verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { GAP = 2, WORD_WIDTH = 8, LANE_MIN = 7, LANE_MAX = 17 };

/* How one bore is drawn, with what that needs. */
typedef struct drawing {
  eb_page *page;
  const eb_json *layout;
  const eb_json *readings; /* by bore; NULL: none */
  const eb_json *verdict;  /* NULL: readings only */
  double tolerance;
  int bore_width, reading_width, deviation_width, doubt_width, lane_width;
} drawing;

const eb_json *eb_chart_adjuster(const eb_json *layout, const char *id)
{
  const eb_json *adjuster = eb_json_first(eb_json_get(layout, "adjusters"));
  for (; adjuster != NULL; adjuster = eb_json_next(adjuster))
    if (strcmp(eb_json_get_string(adjuster, "id", ""), id) == 0)
      return adjuster;
  return NULL;
}

const char *eb_chart_adjuster_title(const eb_json *layout, const char *id)
{
  return eb_json_get_string(eb_chart_adjuster(layout, id), "title", id);
}

const char *eb_chart_bores(const eb_json *bores, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (const eb_json *bore = eb_json_first(bores); bore != NULL && used < size; bore = eb_json_next(bore)) {
    int more = snprintf(text + used, size - used, "%s%s", used == 0 ? "" : " ", eb_json_as_string(bore, "?"));
    used += more < 0 ? size : (size_t)more;
  }
  return text;
}

static const char *reading_text(const drawing *d, const char *bore, char text[EB_FORMAT_SIZE])
{
  const eb_json *judged = eb_json_get(eb_json_get(d->verdict, "bores"), bore);
  const eb_json *reading = judged == NULL ? eb_json_get(d->readings, bore) : eb_json_get(judged, "value");
  double value = eb_json_as_number(reading, 0);
  if (eb_json_is_string(reading))
    return eb_json_as_string(reading, "?");
  if (d->verdict == NULL && d->readings == NULL)
    return "";
  bool fine = strcmp(eb_json_get_string(d->verdict, "unit", ""), "mm") == 0;
  return value > 0 ? eb_format_fixed(value, fine ? 3 : 2, text) : "-";
}

static const char *deviation_text(const drawing *d, const char *bore, char text[EB_FORMAT_SIZE])
{
  const eb_json *judged = eb_json_get(eb_json_get(d->verdict, "bores"), bore);
  eb_format_percent(eb_json_get_number(judged, "deviation", 0), true, text);
  text[strlen(text) - 2] = '\0'; /* the sign for per cent stands behind the doubt */
  return text;
}

static const char *doubt_text(const drawing *d, const char *bore, char text[EB_FORMAT_SIZE])
{
  char number[EB_FORMAT_SIZE];
  const eb_json *judged = eb_json_get(eb_json_get(d->verdict, "bores"), bore);
  eb_format_fixed(eb_json_get_number(judged, "doubt", 0) * 100, 1, number);
  snprintf(text, EB_FORMAT_SIZE, "\u00B1%.20s %%", number);
  return text;
}

static void widen(const eb_page *page, int *width, const char *text)
{
  int columns = eb_page_columns(page, text);
  *width = columns > *width ? columns : *width;
}

static void measure(drawing *d)
{
  char text[EB_FORMAT_SIZE];
  for (const eb_json *row = eb_json_first(eb_json_get(d->layout, "rows")); row != NULL; row = eb_json_next(row))
    for (const eb_json *one = eb_json_first(row); one != NULL; one = eb_json_next(one)) {
      const char *bore = eb_json_as_string(one, "?");
      widen(d->page, &d->bore_width, bore);
      widen(d->page, &d->reading_width, reading_text(d, bore, text));
      widen(d->page, &d->deviation_width, deviation_text(d, bore, text));
      widen(d->page, &d->doubt_width, doubt_text(d, bore, text));
    }
  d->bore_width = d->bore_width > 8 ? 8 : d->bore_width;
}

/* The tolerance in brackets, the bore's place in or outside them: "  [  |  ]o  ". */
static void draw_lane(const drawing *d, double deviation)
{
  char lane[LANE_MAX + 1];
  int half = d->lane_width / 2;
  int bracket = (2 * half + 1) / 3;
  memset(lane, ' ', sizeof lane);
  lane[d->lane_width] = '\0';
  lane[half - bracket] = '[';
  lane[half + bracket] = ']';
  lane[half] = '|';
  double wished = fabs(deviation) / d->tolerance * bracket;
  int place = wished > half + 1 ? half + 1 : (int)lround(wished);
  if (fabs(deviation) > d->tolerance && place <= bracket)
    place = bracket + 1;
  else if (fabs(deviation) <= d->tolerance && place >= bracket)
    place = bracket - 1;
  if (place > half)
    lane[deviation < 0 ? 0 : d->lane_width - 1] = deviation < 0 ? '<' : '>';
  else
    lane[deviation < 0 ? half - place : half + place] = 'o';
  eb_page_put(d->page, EB_PLAIN, " ");
  eb_page_put(d->page, EB_PLAIN, lane);
}

static void draw_word(const drawing *d, const char *word)
{
  bool uneven = strcmp(word, "uneven") == 0;
  char marked[32];
  snprintf(marked, sizeof marked, "%s%.20s", uneven ? "! " : strcmp(word, "unsure") == 0 ? "? " : "  ", word);
  const char *shown = strcmp(word, "left out") == 0 ? word : marked;
  eb_page_cell(d->page, uneven ? EB_STRONG : strcmp(word, "even") == 0 ? EB_GOOD : EB_PLAIN, shown, WORD_WIDTH);
}

static void draw_judged(const drawing *d, const char *bore)
{
  char text[EB_FORMAT_SIZE];
  const eb_json *judged = eb_json_get(eb_json_get(d->verdict, "bores"), bore);
  const char *word = eb_json_get_string(judged, "word", "?");
  bool counts = strcmp(word, "left out") != 0;
  eb_page_cell(d->page, EB_PLAIN, counts ? deviation_text(d, bore, text) : "", -d->deviation_width);
  eb_page_put(d->page, EB_PLAIN, " ");
  eb_page_cell(d->page, EB_PLAIN, counts ? doubt_text(d, bore, text) : "", d->doubt_width);
  eb_page_put(d->page, EB_PLAIN, " ");
  draw_word(d, word);
  if (counts && d->lane_width >= LANE_MIN)
    draw_lane(d, eb_json_get_number(judged, "deviation", 0));
}

static void draw_bore(const drawing *d, const char *bore)
{
  char text[EB_FORMAT_SIZE];
  eb_page_cell(d->page, EB_STRONG, bore, d->bore_width);
  eb_page_put(d->page, EB_PLAIN, " ");
  eb_page_cell(d->page, EB_PLAIN, reading_text(d, bore, text), -d->reading_width);
  eb_page_put(d->page, EB_PLAIN, " ");
  if (d->verdict != NULL)
    draw_judged(d, bore);
}

static const char *row_title(const eb_json *layout, int row)
{
  return eb_json_as_string(eb_json_at(eb_json_get(layout, "row_titles"), row), "");
}

/* One row of the engine as a column of the screen. */
static void draw_below(const drawing *d, const eb_json *row, int number)
{
  const char *title = row_title(d->layout, number);
  if (title[0] != '\0')
    eb_page_say(d->page, title);
  else
    eb_page_sayf(d->page, "row %d", number + 1);
  for (const eb_json *bore = eb_json_first(row); bore != NULL; bore = eb_json_next(bore)) {
    draw_bore(d, eb_json_as_string(bore, "?"));
    eb_page_end(d->page);
  }
}

static int longest_row(const eb_json *rows)
{
  int longest = 0;
  for (const eb_json *row = eb_json_first(rows); row != NULL; row = eb_json_next(row))
    longest = eb_json_count(row) > longest ? eb_json_count(row) : longest;
  return longest;
}

static void draw_beside(const drawing *d, const eb_json *rows, int width)
{
  int count = eb_json_count(rows);
  int stations = longest_row(rows);
  for (int station = -1; station < stations; station++) {
    for (int row = 0; row < count; row++) {
      eb_page_to(d->page, row * (width + GAP));
      const eb_json *bore = station < 0 ? NULL : eb_json_at(eb_json_at(rows, row), station);
      if (station < 0)
        eb_page_cell(d->page, EB_PLAIN, row_title(d->layout, row), width);
      else if (bore != NULL)
        draw_bore(d, eb_json_as_string(bore, "?"));
    }
    eb_page_end(d->page);
  }
}

/* Columns that a bore needs without its lane. */
static int bore_columns(const drawing *d)
{
  int columns = d->bore_width + 1 + d->reading_width;
  if (d->verdict != NULL)
    columns += 1 + d->deviation_width + 1 + d->doubt_width + 1 + WORD_WIDTH;
  return columns;
}

static int lane_columns(int room)
{
  int lane = room - 1;
  if (lane > LANE_MAX)
    lane = LANE_MAX;
  return lane < LANE_MIN ? 0 : lane - (lane % 2 == 0);
}

/* Room enough beside one another, and titles that are not cut. */
static int beside_width(const drawing *d, int rows)
{
  int width = bore_columns(d);
  for (int row = 0; d->verdict == NULL && row < rows; row++) {
    int title = eb_page_columns(d->page, row_title(d->layout, row));
    width = title > width ? title : width;
  }
  return width + (d->verdict == NULL ? GAP : 0);
}

static void draw(drawing *d)
{
  const eb_json *rows = eb_json_get(d->layout, "rows");
  int count = eb_json_count(rows);
  if (count == 0)
    return;
  measure(d);
  int share = (d->page->columns - GAP * (count - 1)) / count;
  int needed = beside_width(d, count);
  bool beside = needed <= share;
  d->lane_width = d->verdict == NULL ? 0 : lane_columns((beside ? share : d->page->columns) - bore_columns(d));
  eb_page_say(d->page, "Front of the engine");
  if (beside) {
    draw_beside(d, rows, needed + (d->lane_width > 0 ? 1 + d->lane_width : 0));
    return;
  }
  int number = 0;
  for (const eb_json *row = eb_json_first(rows); row != NULL; row = eb_json_next(row))
    draw_below(d, row, number++);
}

void eb_chart_layout(eb_page *page, const eb_json *layout, const eb_json *readings)
{
  drawing d = {.page = page, .layout = layout, .readings = readings};
  draw(&d);
}

static void say_left_out(eb_page *page, const eb_json *verdict)
{
  char line[300] = "Left out, and not in this claim:";
  size_t used = strlen(line);
  size_t lead = used;
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; bore != NULL && used < sizeof line - 48; bore = eb_json_next(bore))
    if (strcmp(eb_json_get_string(bore, "word", ""), eb_word_text(EB_LEFT_OUT)) == 0)
      used += (size_t)snprintf(line + used, sizeof line - used, " %.40s", eb_json_key(bore));
  if (used > lead)
    eb_page_paragraph(page, EB_STRONG, "", "", line);
}

/* "Uneven. Claim: even within 12.8 % (wanted: 5 %), at a risk of 5 % of being wrong." */
static void say_claim(eb_page *page, const eb_json *verdict)
{
  char claim[EB_FORMAT_SIZE];
  char risk[EB_FORMAT_SIZE];
  char wanted[EB_FORMAT_SIZE];
  char word[24];
  char line[300];
  double claimed = eb_format_round_up(eb_json_get_number(verdict, "claim", 1));
  eb_format_percent(eb_json_get_number(verdict, "risk", 0), false, risk);
  eb_format_percent(eb_json_get_number(verdict, "tolerance", 0), false, wanted);
  snprintf(word, sizeof word, "%s", eb_json_get_string(verdict, "word", "?"));
  if (word[0] >= 'a' && word[0] <= 'z')
    word[0] = (char)(word[0] - 'a' + 'A');
  if (claimed < 1)
    snprintf(line, sizeof line, "%s. Claim: even within %s (wanted: %s), at a risk of %s of being wrong.", word,
             eb_format_percent(claimed, false, claim), wanted, risk);
  else
    snprintf(line, sizeof line, "%s. No claim yet: these readings prove nothing at a risk of %s (wanted: %s).", word,
             risk, wanted);
  eb_page_paragraph(page, EB_STRONG, "", "", line);
  say_left_out(page, verdict);
}

static void say_widest(eb_page *page, const eb_json *verdict)
{
  const char *worst = eb_json_get_string(verdict, "worst", NULL);
  if (worst == NULL)
    return;
  char deviation[EB_FORMAT_SIZE];
  char repeats[EB_FORMAT_SIZE];
  const eb_json *bore = eb_json_get(eb_json_get(verdict, "bores"), worst);
  eb_page_sayf(page, "Farthest from the mean: bore %.40s at %s. A reading repeats to %s.", worst,
               eb_format_percent(eb_json_get_number(bore, "deviation", 0), true, deviation),
               eb_format_percent(eb_json_get_number(verdict, "repeatability", 0), false, repeats));
}

/* A contrast stands out where it is more than twice its doubt. */
static bool stands_out(const eb_json *contrast)
{
  return strcmp(eb_json_get_string(contrast, "level", ""), "bore") != 0 &&
         fabs(eb_json_get_number(contrast, "value", 0)) > 2 * eb_json_get_number(contrast, "doubt", 0);
}

static void say_contrast(eb_page *page, const eb_json *layout, const eb_json *contrast, bool cold)
{
  char value[EB_FORMAT_SIZE];
  char doubt[EB_FORMAT_SIZE];
  char first[120];
  char second[120];
  double difference = eb_json_get_number(contrast, "value", 0);
  const char *id = eb_json_get_string(contrast, "adjuster", "?");
  const eb_json *sides = eb_json_get(eb_chart_adjuster(layout, id), "sides");
  eb_chart_bores(eb_json_at(sides, 0), first, sizeof first);
  eb_chart_bores(eb_json_at(sides, 1), second, sizeof second);
  eb_format_fixed(fabs(difference) * 100, 1, value);
  eb_format_fixed(eb_json_get_number(contrast, "doubt", 0) * 100, 1, doubt);
  char line[480];
  bool one = strchr(first, ' ') == NULL;
  const char *verb = cold ? (one ? "stands" : "stand") : one ? "carries" : "carry";
  const char *than = cold ? (difference < 0 ? "closer" : "wider") : difference < 0 ? "less air" : "more air";
  snprintf(line, sizeof line, "%.64s: %s %s %s \u00B1%s %% %s than %s", eb_chart_adjuster_title(layout, id), first,
           verb, value, doubt, than, second[0] == '\0' ? "the mean" : second);
  eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
}

static void say_contrasts(eb_page *page, const eb_json *layout, const eb_json *verdict)
{
  const eb_json *contrasts = eb_json_get(verdict, "contrasts");
  bool any = false;
  for (const eb_json *contrast = eb_json_first(contrasts); contrast != NULL; contrast = eb_json_next(contrast)) {
    if (!stands_out(contrast))
      continue;
    if (!any)
      eb_page_say(page, "What stands out:");
    any = true;
    say_contrast(page, layout, contrast, eb_json_get(verdict, "length") != NULL);
  }
  if (!any && eb_json_count(contrasts) > 0)
    eb_page_say(page, "No side and no pair stands out.");
}

/* Which length it is, in what unit: nobody is to take a gap for a travel, or either for air. */
static void say_length(eb_page *page, const eb_json *verdict)
{
  const char *length = eb_json_get_string(verdict, "length", NULL);
  char middle[EB_FORMAT_SIZE];
  const char *unit = eb_json_get_string(verdict, "unit", "");
  if (length != NULL)
    eb_page_sayf(page, "Engine off, %.40s in %.20s; the middle one stands at %s.", length, unit,
                 eb_format_fixed(eb_json_get_number(verdict, "target", 0), strcmp(unit, "mm") == 0 ? 3 : 2, middle));
}

void eb_chart_verdict(eb_page *page, const eb_json *layout, const eb_json *verdict)
{
  say_claim(page, verdict);
  say_length(page, verdict);
  drawing d = {.page = page,
               .layout = layout,
               .verdict = verdict,
               .tolerance = fmax(eb_json_get_number(verdict, "tolerance", 0.05), 1e-6)};
  draw(&d);
  say_widest(page, verdict);
  say_contrasts(page, layout, verdict);
}

static void say_part(eb_page *page, const eb_json *adjuster)
{
  char first[200], second[200], line[700];
  const eb_json *sides = eb_json_get(adjuster, "sides");
  eb_chart_bores(eb_json_at(sides, 0), first, sizeof first);
  eb_chart_bores(eb_json_at(sides, 1), second, sizeof second);
  snprintf(line, sizeof line, "%.60s, engine %s: %.200s%s%.200s", eb_json_get_string(adjuster, "title", "?"),
           eb_json_get_bool(adjuster, "stopped", true) ? "off" : "running", first, second[0] == '\0' ? "" : " against ",
           second);
  eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
}

void eb_chart_parts(eb_page *page, const eb_json *layout)
{
  eb_page_blank(page);
  eb_chart_layout(page, layout, NULL);
  eb_page_blank(page);
  for (const eb_json *a = eb_json_first(eb_json_get(layout, "adjusters")); a != NULL; a = eb_json_next(a))
    say_part(page, a);
  eb_page_blank(page);
}
