/* What a report says in whole sentences. */
#include "story.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NAMED_MAX = 4 };

/* " but bore 3 and 5", or how many where they are too many to name. */
static void add_left_out(const story *s, eb_text *text)
{
  const eb_json *bores = story_last(s) == NULL ? NULL : eb_json_get(story_last(s)->verdict, "bores");
  int count = 0, told = 0;
  for (int pass = 0; pass < 2; pass++)
    for (int i = 0; i < s->layout.bore_count; i++) {
      if (strcmp(eb_json_get_string(eb_json_get(bores, s->layout.bore[i]), "word", ""), "left out") != 0)
        continue;
      if (pass == 0)
        count++;
      else if (count <= NAMED_MAX)
        eb_text_printf(text, "%s%s", told++ == 0 ? " but bore " : " and ", s->layout.bore[i]);
    }
  if (count > NAMED_MAX)
    eb_text_printf(text, " but %d that were left out", count);
}

void story_sentence(const story *s, eb_text *text)
{
  double tolerance, risk;
  char within[EB_FORMAT_SIZE], wrong[EB_FORMAT_SIZE], wanted[EB_FORMAT_SIZE];
  if (!story_claim(s, &tolerance, &risk)) {
    eb_text_add(text, story_state_words(s));
    return;
  }
  eb_format_percent(eb_format_round_up(tolerance), false, within);
  eb_format_percent(risk, false, wrong);
  eb_format_percent(eb_json_get_number(s->open, "tolerance", 0), false, wanted);
  eb_text_add(text, "The airflow of every bore");
  add_left_out(s, text);
  eb_text_printf(text, " is within %s of their mean; the risk that this is wrong is %s", within, wrong);
  if (strcmp(eb_json_get_string(s->end, "outcome", ""), "even") != 0)
    eb_text_printf(text, ". Wanted was %s%s", wanted,
                   s->state == STORY_STOPPED ? ", and the job was stopped before its end" : "");
}

const char *story_state_words(const story *s)
{
  switch (s->state) {
  case STORY_DAMAGED: return "The record is damaged: what stands before the damage is shown, and no claim is made";
  case STORY_OPEN: return "The job is not over: no claim is made";
  case STORY_STOPPED: return "The job was stopped before its end: no claim is made";
  case STORY_FAILED: return "The procedure failed before its end: no claim is made";
  case STORY_ENDED: break;
  }
  return "The job ended without a claim";
}

/* "bore 4 was farthest from the mean, by -9.3 %". */
static void add_farthest(const story_verdict *verdict, const char *verb, eb_text *text)
{
  char number[EB_FORMAT_SIZE];
  const char *worst = eb_json_get_string(verdict->verdict, "worst", "");
  const eb_json *bore = eb_json_get(eb_json_get(verdict->verdict, "bores"), worst);
  double off = eb_json_get_number(bore, "deviation", verdict->spread);
  eb_text_printf(text, "bore %s %s farthest from the mean, by %s", worst, verb, eb_format_percent(off, true, number));
}

static void add_work(const story *s, eb_text *text)
{
  size_t left = s->move_count - s->done_count;
  if (s->done_count == 0)
    eb_text_add(text, " Nothing was adjusted.");
  else
    eb_text_printf(text, " %zu adjustment%s made.", s->done_count, s->done_count == 1 ? " was" : "s were");
  if (left > 0)
    eb_text_printf(text, " %zu that %s wished could not be done.", left, left == 1 ? "was" : "were");
}

void story_plain(const story *s, eb_text *text)
{
  const story_verdict *first = story_first(s);
  const story_verdict *last = story_last(s);
  eb_text_add(text,
              "Each cylinder of this engine breathes through a throttle and a bore of its own. The engine idles well "
              "where all bores pass the same air; this record tells how far from that they were, what was done, "
              "and how far they are now.");
  if (first == NULL)
    return;
  eb_text_add(text, s->done_count == 0 ? " At first " : " Before any adjustment ");
  add_farthest(first, "was", text);
  if (last != first) {
    eb_text_add(text, s->end == NULL ? "; at the last verdict " : "; at the end ");
    add_farthest(last, "is", text);
  }
  eb_text_add(text, ".");
  add_work(s, text);
}

void story_warnings(const story *s, story_sayer say, eb_text *to)
{
  char line[700];
  const eb_recovery *recovery = &s->account->recovery;
  const char *program = eb_json_get_string(s->open, "program", "?");
  char practice[EB_ACCOUNT_PRACTICE_SIZE];
  if (eb_account_practice(s->open, practice) != NULL)
    say(to, practice);
  if (recovery->damaged_record > 0) {
    snprintf(line, sizeof line, "Record %zu is damaged, %.300s: it and all behind it are left out.",
             recovery->damaged_record, recovery->damage);
    say(to, line);
  } else if (recovery->torn_bytes > 0) {
    snprintf(line, sizeof line,
             "The record's end is torn: %zu bytes of an unfinished record behind record %zu are left out.",
             recovery->torn_bytes, s->account->count);
    say(to, line);
  }
  if (s->reader == NULL || strcmp(program, s->reader) == 0)
    return;
  snprintf(line, sizeof line, "The record was made by another program, %.80s; this report of it is by %.80s.", program,
           s->reader);
  say(to, line);
}

void story_maker(const story *s, char *text, size_t size)
{
  const eb_json *origin = eb_json_get(eb_json_get(s->open, "inputs"), "origin");
  if (origin == NULL) {
    snprintf(text, size, "not named in the record");
    return;
  }
  snprintf(text, size, "%.80s, %.40s when the job began; fingerprint %.80s", eb_json_get_string(origin, "maker", "?"),
           eb_json_get_string(origin, "standing", "?"), eb_json_get_string(origin, "fingerprint", "?"));
}

const char *story_records(const story_verdict *first, const story_verdict *last, char text[EB_FORMAT_SIZE])
{
  if (last == NULL || last == first)
    snprintf(text, EB_FORMAT_SIZE, "record %zu", first->record);
  else
    snprintf(text, EB_FORMAT_SIZE, "records %zu and %zu", first->record, last->record);
  return text;
}
