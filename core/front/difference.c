#include "difference.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { AROUND = 3, TAB = 4 };

typedef struct line {
  const char *at;
  size_t size; /* without its newline */
} line;

typedef enum step { SAME, OUT, IN } step;

/* Two texts being compared; the lines that both begin and end with are left out of the table. */
typedef struct comparison {
  const eb_host *host;
  line *old, *new;
  size_t old_count, new_count, same_before, same_behind;
  unsigned char *way; /* the first step from (i, j) on the shortest way to the end */
  unsigned short *row;
} comparison;

static void *allocate(const eb_host *host, size_t size)
{
  return host->allocate(host->context, NULL, size > 0 ? size : 1);
}

static void release(comparison *c)
{
  c->host->allocate(c->host->context, c->old, 0);
  c->host->allocate(c->host->context, c->new, 0);
  c->host->allocate(c->host->context, c->way, 0);
  c->host->allocate(c->host->context, c->row, 0);
}

static size_t count_lines(const eb_source *s)
{
  size_t lines = s->size > 0 && s->text[s->size - 1] != '\n';
  for (size_t i = 0; i < s->size; i++)
    lines += s->text[i] == '\n';
  return lines;
}

static line *split(const eb_host *host, const eb_source *s, size_t *count)
{
  *count = count_lines(s);
  line *lines = allocate(host, *count * sizeof *lines);
  for (size_t i = 0, at = 0; lines != NULL && i < *count; i++) {
    const char *end = memchr(s->text + at, '\n', s->size - at);
    size_t size = end == NULL ? s->size - at : (size_t)(end - s->text) - at;
    lines[i] = (line){.at = s->text + at, .size = size};
    at += size + 1;
  }
  return lines;
}

static bool equal(const line *a, const line *b)
{
  return a->size == b->size && memcmp(a->at, b->at, a->size) == 0;
}

static void trim(comparison *c)
{
  size_t least = c->old_count < c->new_count ? c->old_count : c->new_count;
  while (c->same_before < least && equal(&c->old[c->same_before], &c->new[c->same_before]))
    c->same_before++;
  while (c->same_behind < least - c->same_before &&
         equal(&c->old[c->old_count - 1 - c->same_behind], &c->new[c->new_count - 1 - c->same_behind]))
    c->same_behind++;
}

/* The longest row of lines that both have in the same order, by the table of all of them from the end on. */
static bool find_way(comparison *c)
{
  size_t n = c->old_count - c->same_before - c->same_behind, m = c->new_count - c->same_before - c->same_behind;
  const line *old = c->old + c->same_before, *new = c->new + c->same_before;
  c->way = allocate(c->host, n * m);
  c->row = allocate(c->host, (m + 1) * sizeof *c->row);
  if (c->way == NULL || c->row == NULL)
    return false;
  memset(c->row, 0, (m + 1) * sizeof *c->row);
  for (size_t i = n; i-- > 0;) {
    unsigned short diagonal = 0; /* of (i + 1, j + 1) */
    for (size_t j = m; j-- > 0;) {
      unsigned short below = c->row[j];
      if (equal(&old[i], &new[j])) {
        c->row[j] = (unsigned short)(diagonal + 1);
        c->way[i * m + j] = SAME;
      } else {
        c->way[i * m + j] = below >= c->row[j + 1] ? OUT : IN;
        c->row[j] = below >= c->row[j + 1] ? below : c->row[j + 1];
      }
      diagonal = below;
    }
  }
  return true;
}

/* Where the walk through both texts stands. */
typedef struct walk {
  size_t i, j;
} walk;

static bool next_step(const comparison *c, walk *w, step *taken)
{
  size_t n = c->old_count - c->same_behind, m = c->new_count - c->same_behind;
  if (w->i == c->old_count && w->j == c->new_count)
    return false;
  if (w->i < c->same_before || (w->i >= n && w->j >= m))
    *taken = SAME;
  else if (w->i >= n)
    *taken = IN;
  else if (w->j >= m)
    *taken = OUT;
  else
    *taken = (step)c->way[(w->i - c->same_before) * (m - c->same_before) + w->j - c->same_before];
  w->i += *taken != IN;
  w->j += *taken != OUT;
  return true;
}

static void put_line(eb_page *page, const eb_host *host, step taken, const line *shown)
{
  eb_text text;
  eb_text_init(&text, host);
  eb_text_add(&text, taken == SAME ? " " : taken == OUT ? "-" : "+");
  for (size_t i = 0, column = 0; i < shown->size; i++) {
    size_t width = shown->at[i] == '\t' ? TAB - column % TAB : 1;
    if (shown->at[i] == '\t')
      eb_text_add_bytes(&text, "    ", width);
    else
      eb_text_add_bytes(&text, &shown->at[i], 1);
    column += width;
  }
  page->text.failed = page->text.failed || text.failed;
  eb_page_put(page, EB_PLAIN, eb_text_string(&text));
  eb_page_end(page);
  eb_text_clear(&text);
}

/* A part of both texts that is shown: from `from` on, `old` and `new` lines of each. */
typedef struct hunk {
  walk from;
  size_t old, new;
} hunk;

static void say_hunk(eb_page *page, const comparison *c, const hunk *h)
{
  char head[100];
  snprintf(head, sizeof head, "@@ -%zu,%zu +%zu,%zu @@", h->from.i + (h->old > 0), h->old, h->from.j + (h->new > 0),
           h->new);
  eb_page_put(page, EB_STRONG, head);
  eb_page_end(page);
  walk w = h->from;
  step taken = SAME;
  while ((w.i < h->from.i + h->old || w.j < h->from.j + h->new) && next_step(c, &w, &taken))
    put_line(page, c->host, taken, taken == IN ? &c->new[w.j - 1] : &c->old[w.i - 1]);
}

/* Changes with at most twice AROUND equal lines between them are one hunk. */
static void say_hunks(eb_page *page, const comparison *c)
{
  walk w = {0, 0};
  walk begin = {0, 0}, end = {0, 0};
  bool open = false;
  step taken = SAME;
  size_t same = 0;
  for (bool more = true; more;) {
    more = next_step(c, &w, &taken);
    same = more && taken != SAME ? 0 : same + more;
    if (more && taken != SAME && !open) {
      size_t i = w.i - (taken == OUT), j = w.j - (taken == IN),
             back = i < AROUND || j < AROUND ? (i < j ? i : j) : AROUND;
      begin = (walk){i - back, j - back};
      open = true;
    }
    if (more && taken != SAME)
      end = w;
    if (open && (!more || same > 2 * AROUND)) {
      size_t left = c->old_count - end.i, ahead = left < AROUND ? left : AROUND;
      ahead = c->new_count - end.j < ahead ? c->new_count - end.j : ahead;
      say_hunk(page, c, &(hunk){begin, end.i + ahead - begin.i, end.j + ahead - begin.j});
      open = false;
    }
  }
}

eb_status eb_difference_say(eb_page *page, const eb_host *host, const eb_source *before, const eb_source *after,
                            eb_error *error)
{
  comparison c = {.host = host};
  c.old = split(host, before, &c.old_count);
  c.new = split(host, after, &c.new_count);
  bool done = c.old != NULL && c.new != NULL;
  if (done) {
    trim(&c);
    done = find_way(&c);
  }
  if (done)
    say_hunks(page, &c);
  release(&c);
  return done ? EB_OK : eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}
