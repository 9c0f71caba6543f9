/* The engine in plan view, its front at the left: its last row, on the right of who looks forward, is then the
 * uppermost. A word and a shape say what a colour says. */
#include "forms.h"
#include "html.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  WIDTH = 720,
  PER_LINE = 6,
  CELL = 96,
  GAP = 8,
  FRONT = 20,
  ROW_TITLE = 20,
  PAD = 10,
  NAME_PX = 9,
  TEXT_PX = 7,
  BOLD_PX = 8
};

typedef struct drawing {
  const story *s;
  const story_verdict *verdict;
  eb_text *page;
  int per_line, cell_width;
  double scale; /* of the lanes: the share at their ends */
} drawing;

static const eb_json *bore_of(const drawing *d, int bore)
{
  return eb_json_get(eb_json_get(d->verdict->verdict, "bores"), d->s->layout.bore[bore]);
}

/* As much of a text as fits, with an ellipsis where it does not. */
static void add_fitting(eb_text *page, const char *string, int width, int letter)
{
  size_t room = (size_t)(width / letter);
  if (eb_utf8_columns(string) <= room) {
    html_text(page, string);
    return;
  }
  eb_text part;
  eb_text_init(&part, page->host);
  size_t at = 0, size = strlen(string), columns = 0;
  while (at < size && columns + 1 < room) {
    uint32_t code;
    size_t step = eb_utf8_decode(string + at, size - at, &code);
    if (step == 0)
      break;
    char one[8] = "";
    memcpy(one, string + at, step);
    columns += eb_utf8_columns(one);
    if (columns + 1 <= room)
      eb_text_add_bytes(&part, string + at, step);
    at += step;
  }
  eb_text_add(&part, "\xe2\x80\xa6");
  html_text(page, eb_text_string(&part));
  page->failed = page->failed || part.failed;
  eb_text_clear(&part);
}

static int lane_x(const drawing *d, int x, double share)
{
  int half = d->cell_width / 2 - PAD;
  double at = share / d->scale;
  return x + d->cell_width / 2 + (int)lround(half * (at > 1 ? 1 : at < -1 ? -1 : at));
}

/* Even: a disc; uneven: a triangle that points to more or less air; unsure: a ring; left out: a cross. */
static void draw_sign(eb_text *page, int x, int y, const char *word, bool high)
{
  if (strcmp(word, "even") == 0)
    eb_text_printf(page, "<circle class=\"even\" cx=\"%d\" cy=\"%d\" r=\"6\"/>", x, y);
  else if (strcmp(word, "uneven") == 0)
    eb_text_printf(page, "<path class=\"uneven\" d=\"M%d %dl7 %dh-14z\"/>", x, high ? y - 7 : y + 7, high ? 13 : -13);
  else if (strcmp(word, "unsure") == 0)
    eb_text_printf(page, "<circle class=\"unsure\" cx=\"%d\" cy=\"%d\" r=\"5\"/>", x, y);
  else
    eb_text_printf(page, "<path class=\"unsure\" d=\"M%d %dl10 10m0 -10l-10 10\"/>", x - 5, y - 5);
}

static void draw_lane(const drawing *d, int x, int y, double deviation, double doubt, double tolerance)
{
  int low = lane_x(d, x, -tolerance), high = lane_x(d, x, tolerance);
  eb_text_printf(d->page, "<path class=\"lane\" d=\"M%d %dH%d\"/>", x + PAD, y, x + d->cell_width - PAD);
  eb_text_printf(d->page, "<rect class=\"band\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"10\"/>", low, y - 5,
                 high - low);
  eb_text_printf(d->page, "<path class=\"doubt\" d=\"M%d %dH%d\"/>", lane_x(d, x, deviation - 2 * doubt), y,
                 lane_x(d, x, deviation + 2 * doubt));
  eb_text_printf(d->page, "<circle class=\"at\" cx=\"%d\" cy=\"%d\" r=\"4\"/>", lane_x(d, x, deviation), y);
}

static void draw_words(const drawing *d, int x, int y, const char *style, const char *string)
{
  eb_text_printf(d->page, "<text class=\"%s\" x=\"%d\" y=\"%d\">", style, x, y);
  html_text(d->page, string);
  eb_text_add(d->page, "</text>");
}

/* As short as a cell is wide: no tenths where a bore is off by as much as its own mean. */
static const char *describe_deviation(double deviation, char text[EB_FORMAT_SIZE + 8])
{
  char number[EB_FORMAT_SIZE];
  if (fabs(deviation) < 1)
    return eb_format_percent(deviation, true, text);
  snprintf(text, EB_FORMAT_SIZE + 8, "%s%s %%", deviation > 0 ? "+" : "", eb_format_fixed(deviation * 100, 0, number));
  return text;
}

static void describe(const eb_json *bore, const char *unit, char value[96], char deviation[96])
{
  char number[EB_FORMAT_SIZE], share[EB_FORMAT_SIZE + 8], doubt[EB_FORMAT_SIZE];
  const eb_json *read = eb_json_get(bore, "value");
  value[0] = deviation[0] = '\0';
  if (eb_json_is_number(read))
    snprintf(value, 96, "%s %.12s", story_value(read, number), unit);
  if (eb_json_is_number(eb_json_get(bore, "deviation")))
    snprintf(deviation, 96, "%s \xc2\xb1%s", describe_deviation(eb_json_get_number(bore, "deviation", 0), share),
             eb_format_fixed(eb_json_get_number(bore, "doubt", 0) * 100, 1, doubt));
}

static void draw_bore(const drawing *d, int index, int x, int y)
{
  char value[96], deviation[96];
  const eb_json *bore = bore_of(d, index);
  const char *word = eb_json_get_string(bore, "word", "not read");
  double off = eb_json_get_number(bore, "deviation", 0);
  describe(bore, story_unit(d->s, d->verdict), value, deviation);
  eb_text_printf(d->page, "<g><rect class=\"cell%s\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"6\"/>",
                 strcmp(word, "uneven") == 0 ? " strong" : "", x + 2, y, d->cell_width - 4, CELL);
  eb_text_printf(d->page, "<text class=\"name\" x=\"%d\" y=\"%d\">", x + PAD, y + 21);
  add_fitting(d->page, d->s->layout.bore[index], d->cell_width - 4 * PAD, NAME_PX);
  eb_text_add(d->page, "</text>");
  draw_sign(d->page, x + d->cell_width - 18, y + 16, word, off > 0);
  eb_text_printf(d->page, "<text x=\"%d\" y=\"%d\">", x + PAD, y + 39);
  add_fitting(d->page, value, d->cell_width - 2 * PAD, TEXT_PX);
  eb_text_add(d->page, "</text>");
  eb_text_printf(d->page, "<text class=\"bold\" x=\"%d\" y=\"%d\">", x + PAD, y + 56);
  add_fitting(d->page, deviation, d->cell_width - 2 * PAD, BOLD_PX);
  eb_text_add(d->page, "</text>");
  if (deviation[0] != '\0')
    draw_lane(d, x, y + 70, off, eb_json_get_number(bore, "doubt", 0),
              eb_json_get_number(d->verdict->verdict, "tolerance", 0.05));
  draw_words(d, x + PAD, y + 89, "word", word);
  eb_text_add(d->page, "</g>\n");
}

static int lines_of(const drawing *d, int row)
{
  return (d->s->layout.row_size[row] + d->per_line - 1) / d->per_line;
}

static int row_height(const drawing *d, int row)
{
  return (d->s->layout.row_title[row][0] == '\0' ? 0 : ROW_TITLE) + lines_of(d, row) * (CELL + GAP);
}

static void draw_row(const drawing *d, int row, int y)
{
  const eb_layout *layout = &d->s->layout;
  if (layout->row_title[row][0] != '\0') {
    char title[80];
    snprintf(title, sizeof title, "%s row", layout->row_title[row]);
    draw_words(d, 2, y + 14, "row", title);
    y += ROW_TITLE;
  }
  for (int i = 0; i < layout->row_size[row]; i++)
    draw_bore(d, layout->row_start[row] + i, i % d->per_line * d->cell_width, y + i / d->per_line * (CELL + GAP));
}

static double find_scale(const drawing *d)
{
  double scale = 3 * eb_json_get_number(d->verdict->verdict, "tolerance", 0.05);
  for (int i = 0; i < d->s->layout.bore_count; i++) {
    double off = fabs(eb_json_get_number(bore_of(d, i), "deviation", 0));
    scale = off * 1.15 > scale ? off * 1.15 : scale;
  }
  return scale;
}

static void describe_figure(const drawing *d, const char *name, const char *title)
{
  char spread[EB_FORMAT_SIZE], end[EB_FORMAT_SIZE];
  eb_text_printf(d->page, "<title id=\"%s-title\">", name);
  html_text(d->page, title);
  eb_text_printf(d->page, "</title><desc id=\"%s-desc\">", name);
  html_printf(d->page,
              "Rows of bores seen from above, the front of the engine at the left. Each cell: the bore, its last "
              "reading, its deviation from the mean with "
              "its standard uncertainty, a word, and a lane from -%s to +%s with the wanted band. "
              "The greatest deviation is %s. All figures stand in the table of bores.",
              eb_format_percent(d->scale, false, end), end, eb_format_percent(d->verdict->spread, false, spread));
  eb_text_add(d->page, "</desc>\n");
}

void figure_engine(const story *s, const story_verdict *verdict, const char *name, const char *title, eb_text *page)
{
  drawing d = {.s = s, .verdict = verdict, .page = page, .per_line = 1};
  int height = FRONT;
  for (int r = 0; r < s->layout.row_count; r++)
    d.per_line = s->layout.row_size[r] > d.per_line ? s->layout.row_size[r] : d.per_line;
  d.per_line = d.per_line > PER_LINE ? PER_LINE : d.per_line;
  /* A twin's two cells need not be as wide as the page. */
  d.cell_width = WIDTH / (d.per_line < 4 ? 4 : d.per_line);
  d.scale = find_scale(&d);
  for (int r = 0; r < s->layout.row_count; r++)
    height += row_height(&d, r);
  eb_text_printf(page,
                 "<svg class=\"engine\" role=\"img\" aria-labelledby=\"%s-title %s-desc\" viewBox=\"0 0 %d %d\" "
                 "xmlns=\"http://www.w3.org/2000/svg\">",
                 name, name, WIDTH, height);
  describe_figure(&d, name, title);
  draw_words(&d, 2, 14, "row", "\xe2\x86\x90 front of the engine");
  int y = FRONT;
  for (int r = s->layout.row_count - 1; r >= 0; y += row_height(&d, r--))
    draw_row(&d, r, y);
  eb_text_add(page, "</svg>\n");
}

static void write_sign(const char *word, bool high, const char *meaning, eb_text *page)
{
  eb_text_add(page, "<li><svg class=\"sign\" aria-hidden=\"true\" viewBox=\"0 0 16 16\">");
  draw_sign(page, 8, 8, word, high);
  eb_text_printf(page, "</svg>%s</li>\n", meaning);
}

void figure_key(double tolerance, eb_text *page)
{
  char wanted[EB_FORMAT_SIZE];
  eb_text_add(page, "<ul class=\"key\">\n");
  write_sign("even", false, "even: within the wanted band", page);
  write_sign("uneven", true, "uneven, too much air", page);
  write_sign("uneven", false, "uneven, too little", page);
  write_sign("unsure", false, "unsure: the readings cannot tell yet", page);
  write_sign("left out", false, "left out", page);
  eb_text_printf(page,
                 "<li><svg class=\"lane-key\" aria-hidden=\"true\" viewBox=\"0 0 60 16\"><path class=\"lane\" "
                 "d=\"M0 8H60\"/><rect class=\"band\" x=\"18\" y=\"3\" width=\"24\" height=\"10\"/><path "
                 "class=\"doubt\" d=\"M28 8H52\"/><circle class=\"at\" cx=\"40\" cy=\"8\" r=\"4\"/></svg>dot: the "
                 "deviation; bar: its band of doubt, two standard uncertainties each way; box: the wanted band, "
                 "%s each way</li>\n</ul>\n",
                 eb_format_percent(tolerance, false, wanted));
}
