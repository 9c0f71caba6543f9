/* A layout's sense: what no adjuster corrects, and what two adjusters do alike. */
#include "check.h"

#include "evenbore/layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { ROWS_MAX = EB_ADJUSTERS_MAX + 1 };

static const char *place_of(const eb_check *c, const eb_json *layout, int adjuster)
{
  const eb_json *one = eb_json_at(eb_json_get(layout, "adjusters"), adjuster);
  const char *own = eb_json_get_string(one, "at", "");
  return own[0] != '\0' ? own : eb_json_get_string(layout, "at", c->loaded.source.name);
}

static void find_twins(eb_check *c, const eb_json *layout, const eb_layout *l)
{
  for (int k = 1; k < l->adjuster_count; k++)
    for (int i = 0; i < k; i++) {
      const eb_adjuster *a = &l->adjuster[i], *b = &l->adjuster[k];
      bool alike = a->first == b->first && a->second == b->second;
      bool turned = b->second != 0 && a->first == b->second && a->second == b->first;
      if (!alike && !turned)
        continue;
      eb_check_add(c, false, place_of(c, layout, k),
                   "\"%s\" does the same as \"%s\"%s; leave one of them out, or name the "
                   "bores that it truly moves",
                   b->id, a->id, turned ? " the other way round" : "");
      break;
    }
}

/* The tuner is told to move a part by its title. */
static void find_same_titles(eb_check *c, const eb_json *layout, const eb_layout *l)
{
  for (int k = 1; k < l->adjuster_count; k++)
    for (int i = 0; i < k; i++)
      if (strcmp(l->adjuster[i].title, l->adjuster[k].title) == 0) {
        eb_check_add(c, false, place_of(c, layout, k),
                     "\"%s\" and \"%s\" have the same title, \"%s\", so nobody can tell them apart; give each its own: "
                     "title = \"...\"",
                     l->adjuster[i].id, l->adjuster[k].id, l->adjuster[k].title);
        break;
      }
}

/* The bores' moves that adjusters and the common level can make, brought to steps, one pivot a row. */
typedef struct span {
  double row[ROWS_MAX][EB_BORES_MAX];
  int pivot[ROWS_MAX];
  int rank;
} span;

static const double TINY = 1e-9;

/* Takes out of `vector` what the span has; the column that is left over, or -1: it lies in the span. */
static int reduce(const span *s, int bores, double *vector)
{
  for (int r = 0; r < s->rank; r++) {
    double part = vector[s->pivot[r]];
    for (int i = 0; i < bores; i++)
      vector[i] -= part * s->row[r][i];
  }
  for (int i = 0; i < bores; i++)
    if (fabs(vector[i]) > TINY)
      return i;
  return -1;
}

static void add(span *s, int bores, const double *vector)
{
  double *row = s->row[s->rank];
  memcpy(row, vector, sizeof s->row[0]);
  int pivot = reduce(s, bores, row);
  if (pivot < 0)
    return;
  double scale = row[pivot];
  for (int i = 0; i < bores; i++)
    row[i] /= scale;
  s->pivot[s->rank++] = pivot;
}

static void make_span(const eb_layout *l, span *s)
{
  double vector[EB_BORES_MAX] = {0};
  s->rank = 0;
  for (int i = 0; i < l->bore_count; i++)
    vector[i] = 1;
  add(s, l->bore_count, vector);
  for (int k = 0; k < l->adjuster_count; k++) {
    for (int i = 0; i < l->bore_count; i++)
      vector[i] = eb_adjuster_effect(&l->adjuster[k], i);
    add(s, l->bore_count, vector);
  }
}

/* Whether all adjusters move the two alike. */
static bool together(const eb_layout *l, int a, int b)
{
  for (int k = 0; k < l->adjuster_count; k++)
    if (fabs(eb_adjuster_effect(&l->adjuster[k], a) - eb_adjuster_effect(&l->adjuster[k], b)) > TINY)
      return false;
  return true;
}

static bool is_alone_in_span(const span *s, int bores, int bore)
{
  double vector[EB_BORES_MAX] = {0};
  vector[bore] = 1;
  return reduce(s, bores, vector) < 0;
}

static void find_fixed(eb_check *c, const eb_json *layout, const eb_layout *l)
{
  span s;
  eb_bores told = 0;
  const char *place = eb_json_get_string(layout, "at", c->loaded.source.name);
  make_span(l, &s);
  for (int i = 0; i < l->bore_count; i++) {
    char names[300];
    size_t used = (size_t)snprintf(names, sizeof names, "%s", l->bore[i]);
    int others = 0;
    if ((told >> i & 1) != 0 || is_alone_in_span(&s, l->bore_count, i))
      continue;
    for (int k = i + 1; k < l->bore_count && used < sizeof names; k++)
      if (together(l, i, k)) {
        used += (size_t)snprintf(names + used, sizeof names - used, " %s", l->bore[k]);
        told |= (eb_bores)1 << k;
        others++;
      }
    if (others > 0)
      eb_check_add(c, false, place,
                   "no adjuster moves bores %s against one another; add plate { \"plate-%s\", { %s } } or "
                   "plates(rows), or a screw for each",
                   names, l->bore[i], l->bore[i]);
    else
      eb_check_add(c, false, place,
                   "no adjuster corrects bore %s alone; add plate { \"plate-%s\", { %s } } or a screw for "
                   "it",
                   names, l->bore[i], l->bore[i]);
  }
}

void eb_check_layout(eb_check *c, const eb_json *layout)
{
  eb_layout l;
  eb_error error;
  if (eb_layout_read(layout, c->loaded.source.name, &l, &error) != EB_OK) {
    eb_check_add(c, true, error.place, "%s", error.message);
    return;
  }
  find_twins(c, layout, &l);
  find_same_titles(c, layout, &l);
  find_fixed(c, layout, &l);
}
