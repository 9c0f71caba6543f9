/* How the engine became even: verdict by verdict, with the adjustments between them. */
#include "forms.h"
#include "html.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WIDTH = 720, HEIGHT = 280, LEFT = 56, RIGHT = 12, TOP = 34, BOTTOM = 62, DIGIT_PX = 7, LABELS_MAX = 18 };

typedef struct course {
  const story *s;
  eb_text *page;
  size_t count; /* verdicts in the main condition */
  double top;   /* share at the upper end */
} course;

static int x_of(const course *c, double place)
{
  double width = WIDTH - LEFT - RIGHT;
  return LEFT + (int)lround(width * (place + 0.5) / (double)c->count);
}

static int y_of(const course *c, double share)
{
  double at = share > c->top ? 1 : share / c->top;
  return HEIGHT - BOTTOM - (int)lround((HEIGHT - TOP - BOTTOM) * at);
}

static const story_verdict *next_main(const course *c, size_t *at)
{
  while (*at < c->s->verdict_count)
    if (story_is_main(c->s, &c->s->verdict[(*at)++]))
      return &c->s->verdict[*at - 1];
  return NULL;
}

/* The next of 10, 20, 30, 50 and 100 %. */
static double find_top(const course *c)
{
  static const double tops[] = {0.1, 0.2, 0.3, 0.5};
  double most = 0;
  size_t at = 0;
  for (const story_verdict *v; (v = next_main(c, &at)) != NULL;)
    most = fmax(most, fmax(v->spread, v->claim));
  for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++)
    if (most <= tops[i])
      return tops[i];
  return 1;
}

static void draw_scale(const course *c)
{
  char number[EB_FORMAT_SIZE];
  for (int i = 0; i <= 4; i++) {
    double share = c->top * i / 4;
    int y = y_of(c, share);
    eb_text_printf(c->page, "<path class=\"grid\" d=\"M%d %dH%d\"/><text class=\"end\" x=\"%d\" y=\"%d\">%s</text>",
                   LEFT, y, WIDTH - RIGHT, LEFT - 6, y + 4, eb_format_percent(share, false, number));
  }
  double wanted = eb_json_get_number(story_first(c->s)->verdict, "tolerance", 0.05);
  if (wanted <= c->top)
    eb_text_printf(c->page, "<path class=\"wanted\" d=\"M%d %dH%d\"/>", LEFT, y_of(c, wanted), WIDTH - RIGHT);
  eb_text_printf(c->page, "<text class=\"mid\" x=\"%d\" y=\"%d\">verdicts, in their order</text>\n",
                 LEFT + (WIDTH - LEFT - RIGHT) / 2, HEIGHT - 6);
}

static void draw_line(const course *c, bool claim)
{
  size_t at = 0;
  int i = 0;
  eb_text_printf(c->page, "<path class=\"%s\" d=\"", claim ? "claim" : "spread");
  for (const story_verdict *v; (v = next_main(c, &at)) != NULL; i++)
    eb_text_printf(c->page, "%c%d %d", i == 0 ? 'M' : 'L', x_of(c, i), y_of(c, claim ? v->claim : v->spread));
  eb_text_add(c->page, "\"/>\n");
}

static void draw_points(const course *c)
{
  size_t at = 0;
  int i = 0;
  int step = (int)((c->count + LABELS_MAX - 1) / LABELS_MAX);
  for (const story_verdict *v; (v = next_main(c, &at)) != NULL; i++) {
    int x = x_of(c, i);
    eb_text_printf(c->page, "<circle class=\"at\" cx=\"%d\" cy=\"%d\" r=\"4\"/>", x, y_of(c, v->spread));
    eb_text_printf(c->page, "<rect class=\"claimed\" x=\"%d\" y=\"%d\" width=\"7\" height=\"7\"/>", x - 3,
                   y_of(c, v->claim) - 3);
    if (i % step == 0)
      eb_text_printf(c->page, "<text class=\"mid\" x=\"%d\" y=\"%d\">%d</text>\n", x, HEIGHT - BOTTOM + 16, i + 1);
  }
}

/* At one of two heights; where neither has room the table alone has the numbers. */
static void write_label(const course *c, int x, const char *label, int right[2])
{
  int half = (int)strlen(label) * DIGIT_PX / 2;
  for (int line = 0; line < 2; line++) {
    if (x - half <= right[line])
      continue;
    right[line] = x + half;
    eb_text_printf(c->page, "<text class=\"mid small\" x=\"%d\" y=\"%d\">%s</text>\n", x,
                   HEIGHT - BOTTOM + 28 + line * 13, label);
    return;
  }
}

/* Between two verdicts stand the adjustments made there, by their numbers in the table. */
static void draw_adjustments(const course *c)
{
  size_t at = 0, before = 0;
  int i = 0, right[2] = {0, 0};
  for (const story_verdict *v; (v = next_main(c, &at)) != NULL; i++) {
    if (v->moves_before > before && i > 0) {
      char label[48];
      int x = x_of(c, i - 0.5);
      if (v->moves_before == before + 1)
        snprintf(label, sizeof label, "A%zu", v->moves_before);
      else
        snprintf(label, sizeof label, "A%zu-%zu", before + 1, v->moves_before);
      eb_text_printf(c->page, "<path class=\"adjusted\" d=\"M%d %dV%d\"/>", x, TOP, HEIGHT - BOTTOM);
      write_label(c, x, label, right);
    }
    before = v->moves_before;
  }
}

static void draw_legend(const course *c)
{
  eb_text_printf(
      c->page,
      "<circle class=\"at\" cx=\"%d\" cy=\"14\" r=\"4\"/><text x=\"%d\" y=\"18\">greatest deviation</text>"
      "<rect class=\"claimed\" x=\"%d\" y=\"11\" width=\"7\" height=\"7\"/><text x=\"%d\" y=\"18\">claim</text>"
      "<path class=\"wanted\" d=\"M%d 14h26\"/><text x=\"%d\" y=\"18\">wanted</text>"
      "<path class=\"adjusted\" d=\"M%d 6v16\"/><text x=\"%d\" y=\"18\">adjustments, by number</text>\n",
      LEFT + 4, LEFT + 14, LEFT + 160, LEFT + 174, LEFT + 236, LEFT + 268, LEFT + 340, LEFT + 350);
}

static void write_table(const course *c)
{
  static const char *const heads[] = {"Verdict", ">Adjustments before", ">Greatest deviation", ">Claim", ">Record",
                                      NULL};
  char number[EB_FORMAT_SIZE], caption[120];
  size_t at = 0;
  int i = 0;
  snprintf(caption, sizeof caption, "Verdicts (%.60s)", c->s->condition);
  html_table(c->page, caption, heads);
  for (const story_verdict *v; (v = next_main(c, &at)) != NULL; i++) {
    eb_text_printf(c->page, "<tr><th scope=\"row\">%d</th><td class=\"n\">%zu</td>", i + 1, v->moves_before);
    html_number(c->page, eb_format_percent(v->spread, false, number));
    html_number(c->page, v->claim < 1 ? eb_format_percent(eb_format_round_up(v->claim), false, number) : "none");
    html_record(c->page, v->record);
    eb_text_add(c->page, "</tr>\n");
  }
  html_table_end(c->page);
}

void figure_course(const story *s, eb_text *page)
{
  course c = {.s = s, .page = page};
  size_t at = 0;
  while (next_main(&c, &at) != NULL)
    c.count++;
  if (c.count == 0) {
    return;
  }
  c.top = find_top(&c);
  eb_text_printf(
      page,
      "<figure><svg class=\"course\" role=\"img\" aria-labelledby=\"course-title course-desc\" viewBox=\"0 0 %d %d\" "
      "xmlns=\"http://www.w3.org/2000/svg\"><title id=\"course-title\">Deviation and claim, verdict by verdict"
      "</title><desc id=\"course-desc\">The greatest deviation of a bore and the tolerance that could be "
      "claimed, at each of %zu verdicts; vertical lines mark adjustments. The table below has the "
      "figures.</desc>\n",
      WIDTH, HEIGHT, c.count);
  draw_scale(&c);
  draw_adjustments(&c);
  draw_line(&c, true);
  draw_line(&c, false);
  draw_points(&c);
  draw_legend(&c);
  eb_text_add(page, "</svg></figure>\n");
  write_table(&c);
}
