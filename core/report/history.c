/* The history of an engine: sessions are added one by one, and only what is told of each is kept. */
#include "series.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

eb_status eb_history_create(const eb_host *host, const char *engine, eb_history **history, eb_error *error)
{
  eb_history *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return out_of_memory(error);
  *made = (eb_history){.host = host};
  snprintf(made->engine, sizeof made->engine, "%s", engine);
  *history = made;
  return EB_OK;
}

void eb_history_destroy(eb_history *history)
{
  if (history == NULL)
    return;
  const eb_host *host = history->host;
  host->allocate(host->context, history->past, 0);
  host->allocate(host->context, history->order, 0);
  host->allocate(host->context, history->left_out, 0);
  host->allocate(host->context, history, 0);
}

/* Room for one more of `size` bytes; false when memory runs out. */
static bool make_room(const eb_host *host, void **block, size_t count, size_t *room, size_t size)
{
  if (count < *room)
    return true;
  size_t wanted = *room == 0 ? 8 : *room * 2;
  void *grown = host->allocate(host->context, *block, wanted * size);
  if (grown == NULL)
    return false;
  *block = grown;
  *room = wanted;
  return true;
}

static void put_in_order(eb_history *h)
{
  size_t at = h->count;
  for (; at > 0 && past_is_before(&h->past[h->count], &h->past[h->order[at - 1]]); at--)
    h->order[at] = h->order[at - 1];
  h->order[at] = h->count++;
}

eb_status eb_history_add(eb_history *h, const char *name, const eb_account *account, eb_error *error)
{
  char why[PAST_WORDS_SIZE];
  if (account->recovery.damaged_record > 0) {
    snprintf(why, sizeof why, "record %zu is damaged", account->recovery.damaged_record);
    return eb_history_leave_out(h, name, why, error);
  }
  size_t room = h->room;
  if (!make_room(h->host, (void **)&h->past, h->count, &room, sizeof *h->past) ||
      !make_room(h->host, (void **)&h->order, h->count, &h->room, sizeof *h->order))
    return out_of_memory(error);
  eb_status status = past_read(account, name, &h->past[h->count], error);
  if (status == EB_OK)
    put_in_order(h);
  return status;
}

eb_status eb_history_leave_out(eb_history *h, const char *name, const char *why, eb_error *error)
{
  if (!make_room(h->host, (void **)&h->left_out, h->left_out_count, &h->left_out_room, sizeof *h->left_out))
    return out_of_memory(error);
  series_left_out *made = &h->left_out[h->left_out_count++];
  snprintf(made->name, sizeof made->name, "%s", name);
  snprintf(made->why, sizeof made->why, "%s", why);
  return EB_OK;
}

const past *series_at(const eb_history *h, size_t place)
{
  return &h->past[h->order[place]];
}

static void compare_adjusters(series_gap *gap)
{
  const past *from = gap->from, *to = gap->to;
  for (int k = 0; k < from->layout.adjuster_count; k++) {
    int there = past_same_adjuster(from, k, to);
    if (there < 0 || !from->last.contrast[k].known || !to->first.contrast[there].known)
      continue;
    gap->adjuster[gap->adjusters] = k;
    gap->there[gap->adjusters++] = there;
  }
  for (int i = 0; i < gap->adjusters; i++)
    gap->contrast[i] = eb_difference_of(from->last.contrast[gap->adjuster[i]].from,
                                        to->first.contrast[gap->there[i]].from, gap->adjusters, to->risk);
}

void series_gap_of(const past *from, const past *to, series_gap *gap)
{
  *gap = (series_gap){.from = from, .to = to, .same_bores = past_same_bores(from, to)};
  if (!gap->same_bores)
    return;
  gap->count =
      past_differ(&from->last, &to->first, from->layout.bore_count, to->risk, gap->bore, gap->differs, &gap->all);
  compare_adjusters(gap);
}

bool series_gap_before(const eb_history *h, size_t place, series_gap *gap)
{
  const past *to = series_at(h, place);
  size_t from = place;
  while (from > 0 && !series_at(h, from - 1)->last.there)
    from--;
  if (from == 0 || !to->first.there)
    return false;
  series_gap_of(series_at(h, from - 1), to, gap);
  return true;
}

bool series_goes_back(const series_gap *gap, int index, double *share)
{
  int k = gap->adjuster[index];
  const past_contrast *first = &gap->from->first.contrast[k];
  double corrected = gap->from->last.contrast[k].from.value - first->from.value;
  double since = gap->contrast[index].value;
  if (!gap->from->moved[k] || !first->known || !gap->contrast[index].beyond || corrected * since >= 0)
    return false;
  *share = fabs(since / corrected);
  return true;
}

void series_sentence(const series_gap *gap, char *text, size_t size)
{
  char p[EB_FORMAT_SIZE];
  if (!gap->same_bores)
    snprintf(text, size, "The bores are not the same, so nothing is compared");
  else if (gap->count < 2)
    snprintf(text, size, "Fewer than two bores count in both, so nothing is compared");
  else
    snprintf(text, size, "The bores differ by %s than the doubt of the readings explains (all together: %s)",
             gap->all.beyond ? "more" : "no more", past_say_p(gap->all.p, p));
}

eb_status eb_history_write(const eb_history *h, const eb_report_options *options, eb_text *text, eb_error *error)
{
  switch (options->form) {
  case EB_REPORT_PAGE: history_page(h, text); break;
  case EB_REPORT_TEXT: history_text(h, text); break;
  case EB_REPORT_CSV: history_csv(h, options->semicolon, text); break;
  case EB_REPORT_JSON: history_json(h, text); break;
  }
  if (!text->failed)
    return EB_OK;
  eb_text_clear(text);
  return out_of_memory(error);
}
