#include "drawing.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A text being read, word by word; a sign of the syntax is a word of its own. */
typedef struct reader {
  const char *text, *at;
  const char *word; /* the last one */
  size_t size;      /* 0: the end */
  eb_error *error;
} reader;

static void next(reader *r)
{
  r->at += strspn(r->at, " \t\n");
  r->word = r->at;
  r->size = *r->at != '\0' && strchr("/|;+", *r->at) != NULL ? 1 : strcspn(r->at, " \t\n/|;+");
  r->at += r->size;
}

static bool is(const reader *r, const char *word)
{
  return r->size == strlen(word) && memcmp(r->word, word, r->size) == 0;
}

static bool continues(char c)
{
  return ((unsigned char)c & 0xC0U) == 0x80U;
}

/* The nearest place at or in front of `at` that does not cut a character in two. */
static size_t whole(const char *text, size_t at)
{
  while (at > 0 && continues(text[at]))
    at--;
  return at;
}

static int characters(const char *text, size_t size)
{
  int count = 0;
  for (size_t i = 0; i < size; i++)
    count += !continues(text[i]);
  return count;
}

#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
static eb_status
refuse(const reader *r, const char *format, ...)
{
  char why[300];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(why, sizeof why, format, arguments);
  va_end(arguments);
  size_t column = (size_t)(r->word - r->text);
  size_t from = whole(r->text, column > 30 ? column - 30 : 0);
  size_t size = strnlen(r->word, 20);
  return eb_fail(r->error, EB_BAD_VALUE, "", "at character %d, %.*s<here>%.*s: %s", characters(r->text, column) + 1,
                 (int)(column - from), r->text + from, (int)whole(r->word, size), r->word, why);
}

static bool has_digit(const reader *r)
{
  for (size_t i = 0; i < r->size; i++)
    if (isdigit((unsigned char)r->word[i]))
      return true;
  return false;
}

static bool is_plain(const reader *r)
{
  for (size_t i = 0; i < r->size; i++)
    if (!isalnum((unsigned char)r->word[i]) && r->word[i] != '-' && r->word[i] != '_')
      return false;
  return r->size > 0 && r->size < EB_ID_SIZE - 12;
}

static int find_bore(const eb_drawing *d, const char *word, size_t size)
{
  for (int i = 0; i < d->bore_count; i++)
    if (strlen(d->bore[i]) == size && memcmp(d->bore[i], word, size) == 0)
      return i;
  return -1;
}

static int find_row(const eb_drawing *d, const char *word, size_t size)
{
  for (int i = 0; i < d->row_count; i++)
    if (d->row_title[i][0] != '\0' && strlen(d->row_title[i]) == size && memcmp(d->row_title[i], word, size) == 0)
      return i;
  return -1;
}

static eb_status read_bore(reader *r, eb_drawing *d)
{
  if (!is_plain(r))
    return refuse(r, "a bore is a number, or letters and digits; rows stand apart by /");
  if (find_bore(d, r->word, r->size) >= 0)
    return refuse(r, "this bore stands in the rows already; each has one place");
  if (d->bore_count == EB_BORES_MAX)
    return refuse(r, "more than %d bores", EB_BORES_MAX);
  snprintf(d->bore[d->bore_count++], EB_ID_SIZE, "%.*s", (int)r->size, r->word);
  next(r);
  return EB_OK;
}

static eb_status read_row(reader *r, eb_drawing *d)
{
  int row = d->row_count;
  if (row == EB_ROWS_MAX)
    return refuse(r, "more than %d rows", EB_ROWS_MAX);
  if (is_plain(r) && !has_digit(r)) {
    if (find_row(d, r->word, r->size) >= 0)
      return refuse(r, "a row of this name is there already");
    snprintf(d->row_title[row], EB_ID_SIZE, "%.*s", (int)r->size, r->word);
    next(r);
  }
  d->row_start[row] = d->bore_count;
  eb_status status = EB_OK;
  while (status == EB_OK && r->size > 0 && !is(r, "/"))
    status = read_bore(r, d);
  d->row_size[row] = d->bore_count - d->row_start[row];
  if (status == EB_OK && d->row_size[row] == 0)
    return refuse(r, "a row without a bore; write its bores front to rear, such as 1 3 5 7");
  d->row_count++;
  return status;
}

eb_status eb_drawing_rows(const char *text, eb_drawing *drawing, eb_error *error)
{
  reader r = {.text = text, .at = text, .error = error};
  eb_drawing made = {.bore_count = 0};
  next(&r);
  eb_status status = read_row(&r, &made);
  while (status == EB_OK && is(&r, "/")) {
    next(&r);
    status = read_row(&r, &made);
  }
  if (status == EB_OK)
    *drawing = made;
  return status;
}

bool eb_drawing_counts(const char *text, int *counts, int *rows)
{
  const char *c = text;
  *rows = 0;
  for (;;) {
    char *end = NULL;
    long count = strtol(c, &end, 10);
    if (end == c || count < 1 || count > EB_BORES_MAX || *rows == EB_ROWS_MAX)
      return false;
    counts[(*rows)++] = (int)count;
    c = end + strspn(end, " ");
    if (*c == '\0')
      return true;
    if (*c++ != '+')
      return false;
  }
}

static eb_bores row_bores(const eb_drawing *d, int row)
{
  eb_bores all = 0;
  for (int i = 0; i < d->row_size[row]; i++)
    all |= (eb_bores)1 << (d->row_start[row] + i);
  return all;
}

/* One side up to |, ; or the end. */
static eb_status read_side(reader *r, const eb_drawing *d, eb_bores other, eb_bores *side)
{
  *side = 0;
  while (r->size > 0 && !is(r, "|") && !is(r, ";")) {
    int row = find_row(d, r->word, r->size), bore = find_bore(d, r->word, r->size);
    eb_bores more = row >= 0 ? row_bores(d, row) : bore >= 0 ? (eb_bores)1 << bore : 0;
    if (more == 0)
      return refuse(r, "this is neither a bore nor a row's name; parts stand apart by ;");
    if ((more & *side) != 0)
      return refuse(r, "this bore stands twice on one side");
    if ((more & other) != 0)
      return refuse(r, "this bore is on the other side too; a part moves one side against the other");
    *side |= more;
    next(r);
  }
  return *side == 0 ? refuse(r, "a side without a bore; name the bores that the part moves") : EB_OK;
}

static const char *first_bore(const eb_drawing *d, eb_bores side)
{
  int i = 0;
  while (i + 1 < d->bore_count && (side >> i & 1) == 0)
    i++;
  return d->bore[i];
}

static bool is_one(eb_bores side)
{
  return (side & (side - 1)) == 0;
}

/* The named row that all of them stand in, where it is more than one bore; else -1. */
static int named_row(const eb_drawing *d, eb_bores bores)
{
  for (int row = 0; row < d->row_count; row++)
    if (d->row_title[row][0] != '\0' && (bores & ~row_bores(d, row)) == 0 && !is_one(bores))
      return row;
  return -1;
}

static bool has_id(const eb_drawing *d, int count, const char *id)
{
  for (int i = 0; i < count; i++)
    if (strcmp(d->part[i].id, id) == 0)
      return true;
  return false;
}

/* "link" where it is the only one, or "coupler-left", or "coupler-1-5": the shortest that no part before it has. */
static void name_part(const eb_drawing *d, int index, eb_drawn_part *part)
{
  enum { ROOM = EB_ID_SIZE - 1 }; /* for what is left of an id that would be too long */
  int alike = 0;
  for (int i = 0; i < d->part_count; i++)
    alike += strcmp(d->part[i].kind, part->kind) == 0;
  char name[EB_ID_SIZE * 4];
  const char *first = first_bore(d, part->first);
  int row = named_row(d, part->first | part->second);
  if (part->second != 0 && alike == 1)
    snprintf(name, sizeof name, "%s", part->kind);
  else
    snprintf(name, sizeof name, "%s-%s", part->kind, row >= 0 ? d->row_title[row] : first);
  snprintf(part->id, sizeof part->id, "%.*s", ROOM, name);
  if (has_id(d, index, part->id) && part->second != 0) {
    snprintf(name, sizeof name, "%s-%s-%s", part->kind, first, first_bore(d, part->second));
    snprintf(part->id, sizeof part->id, "%.*s", ROOM, name);
  }
  for (int n = 2; n <= EB_ADJUSTERS_MAX && has_id(d, index, part->id); n++)
    snprintf(part->id, sizeof part->id, "%.*s-no%d", ROOM - 5, name, n);
}

/* Puts a part among the others; two that move the same bores are one. */
static eb_status add_part(reader *kind, eb_drawing *d, const eb_drawn_part *part)
{
  for (int i = 0; i < d->part_count; i++) {
    const eb_drawn_part *p = &d->part[i];
    bool same = p->first == part->first && p->second == part->second;
    bool turned = part->second != 0 && p->first == part->second && p->second == part->first;
    if (strcmp(p->kind, part->kind) != 0 || (!same && !turned))
      continue;
    if (part->second == 0 && is_one(part->first))
      return refuse(kind, "bore %s has a %s already; leave one of them out", first_bore(d, part->first), part->kind);
    return refuse(kind, "a %s moves the same bores already; leave one of them out", part->kind);
  }
  if (d->part_count == EB_ADJUSTERS_MAX)
    return refuse(kind, "more than %d parts", EB_ADJUSTERS_MAX);
  d->part[d->part_count++] = *part;
  return EB_OK;
}

static eb_status add_each(reader *kind, eb_drawing *d, eb_drawn_part part)
{
  eb_bores all = part.first;
  eb_status status = EB_OK;
  for (int i = 0; status == EB_OK && i < d->bore_count; i++) {
    part.first = all & (eb_bores)1 << i;
    if (part.first != 0)
      status = add_part(kind, d, &part);
  }
  return status;
}

static eb_bores all_bores(const eb_drawing *d)
{
  eb_bores all = 0;
  for (int row = 0; row < d->row_count; row++)
    all |= row_bores(d, row);
  return all;
}

static eb_status read_sides(reader *r, const eb_drawing *d, bool each, eb_drawn_part *part)
{
  eb_status status = EB_OK;
  if (each && (r->size == 0 || is(r, ";") || is(r, "|")))
    part->first = all_bores(d);
  else
    status = read_side(r, d, 0, &part->first);
  if (status != EB_OK || !is(r, "|"))
    return status;
  if (each)
    return refuse(r, "each is one part for every bore; it has no second side");
  next(r);
  return read_side(r, d, part->first, &part->second);
}

static eb_status read_part(reader *r, eb_drawing *d)
{
  eb_drawn_part part = {.first = 0};
  if (!is_plain(r) || has_digit(r))
    return refuse(r, "a part begins with its kind: link, coupler, screw, bleed, plate or a word of yours");
  reader kind = *r;
  snprintf(part.kind, sizeof part.kind, "%.*s", (int)r->size, r->word);
  for (char *c = part.kind; *c != '\0'; c++)
    *c = (char)tolower((unsigned char)*c);
  next(r);
  bool each = is(r, "each");
  if (each)
    next(r);
  eb_status status = read_sides(r, d, each, &part);
  if (status != EB_OK)
    return status;
  bool joins = strcmp(part.kind, "link") == 0 || strcmp(part.kind, "coupler") == 0;
  if (joins && part.second == 0)
    return refuse(&kind, "this joins two sides; write %s, its bores, | and the others", part.kind);
  return each ? add_each(&kind, d, part) : add_part(&kind, d, &part);
}

eb_status eb_drawing_parts(const char *text, eb_drawing *drawing, eb_error *error)
{
  reader r = {.text = text, .at = text, .error = error};
  eb_drawing made = *drawing;
  made.part_count = 0;
  eb_status status = EB_OK;
  next(&r);
  while (status == EB_OK && r.size > 0) {
    status = read_part(&r, &made);
    if (status == EB_OK && r.size > 0 && !is(&r, ";"))
      status = refuse(&r, "parts stand apart by ;");
    if (status == EB_OK)
      next(&r);
  }
  for (int i = 0; i < made.part_count; i++)
    name_part(&made, i, &made.part[i]);
  if (status == EB_OK && made.part_count == 0)
    status = refuse(&r, "no part at all; name what can be adjusted, such as screw 1 | 2");
  if (status == EB_OK)
    *drawing = made;
  return status;
}
