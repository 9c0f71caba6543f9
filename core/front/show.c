/* Show: the account of a session from its journal alone, each line with the number of its record. */
#include "chart.h"
#include "origin.h"
#include "prompt.h"
#include "run.h"
#include "sessions.h"
#include "view.h"

#include "evenbore/account.h"
#include "evenbore/format.h"
#include "evenbore/gauge.h"

#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 4096 };

typedef struct telling {
  eb_page page;
  const eb_account *account;
  eb_json *layout; /* owned; NULL: none */
  char stage[200]; /* of the line before */
} telling;

/* "  12  09:14  text", what follows below the text. */
static void say_line(telling *t, size_t index, eb_style style, const char *text)
{
  char clock[EB_FORMAT_SIZE];
  char first[EB_FORMAT_SIZE + 16];
  const char *time = eb_json_get_string(eb_account_record(t->account, index), "time", "");
  snprintf(first, sizeof first, "%4zu  %-5s  ", index + 1, time[0] == '\0' ? "" : eb_format_clock(time, clock));
  char back[64] = "";
  if (t->account->taken_back_by[index] != 0)
    snprintf(back, sizeof back, " [taken back by record %zu]", t->account->taken_back_by[index]);
  char line[LINE_SIZE + sizeof back];
  snprintf(line, sizeof line, "%s%s", text, back);
  eb_page_paragraph(&t->page, style, first, "             ", line);
}

static void say_stage(telling *t, const eb_json *from)
{
  const char *stage = eb_json_get_string(from, "stage", "");
  if (stage[0] == '\0' || strcmp(stage, t->stage) == 0)
    return;
  snprintf(t->stage, sizeof t->stage, "%s", stage);
  eb_page_blank(&t->page);
  eb_page_paragraph(&t->page, EB_STRONG, "", "", stage);
}

static void say_head_line(telling *t, const char *name, const char *text)
{
  char first[24];
  if (text[0] == '\0')
    return;
  snprintf(first, sizeof first, "%-11s", name);
  eb_page_paragraph(&t->page, EB_PLAIN, first, "           ", text);
}

static void say_open(telling *t, const eb_json *open)
{
  char line[600];
  char date[EB_FORMAT_SIZE];
  char wanted[EB_FORMAT_SIZE];
  char risk[EB_FORMAT_SIZE];
  char practice[EB_ACCOUNT_PRACTICE_SIZE];
  const eb_json *procedure = eb_json_get(open, "procedure");
  snprintf(line, sizeof line, "Session %.200s", eb_json_get_string(open, "session", "?"));
  eb_page_paragraph(&t->page, EB_STRONG, "", "", line);
  if (eb_account_practice(open, practice) != NULL)
    eb_page_paragraph(&t->page, EB_ALARM, "", "", practice);
  say_head_line(t, "begun", eb_format_date(eb_json_get_string(open, "time", ""), date));
  say_head_line(t, "engine", eb_json_get_string(eb_json_get(open, "inputs"), "engine", ""));
  snprintf(line, sizeof line, "%.120s: %.60s %.60s, file %.80s, digest %.16s",
           eb_json_get_string(procedure, "title", "?"), eb_json_get_string(procedure, "id", "?"),
           eb_json_get_string(procedure, "version", "?"), eb_json_get_string(procedure, "name", "?"),
           eb_json_get_string(procedure, "digest", "?"));
  say_head_line(t, "procedure", line);
  say_head_line(t, "from", eb_origin_words(eb_json_get(open, "inputs"), line, sizeof line));
  say_head_line(t, "program", eb_json_get_string(open, "program", "?"));
  say_head_line(t, "gauge", eb_gauge_describe(eb_json_get(open, "gauge"), line, sizeof line));
  snprintf(line, sizeof line, "even within %s, at a risk of %s of being wrong",
           eb_format_percent(eb_json_get_number(open, "tolerance", 0), false, wanted),
           eb_format_percent(eb_json_get_number(open, "risk", 0), false, risk));
  say_head_line(t, "wanted", line);
  if (t->layout != NULL) {
    eb_page_blank(&t->page);
    eb_chart_layout(&t->page, t->layout, NULL);
  }
  eb_page_blank(&t->page);
  eb_page_say(&t->page, "Beside each line: the number of its record, and the time.");
}

static void say_told(telling *t, size_t index)
{
  static const char indent[] = "             ";
  const eb_json *message = eb_json_get(eb_account_record(t->account, index), "message");
  const eb_json *verdict = eb_json_get(message, "verdict");
  const eb_json *plan = eb_json_get(message, "plan");
  const char *words = eb_view_words(message);
  char line[LINE_SIZE];
  say_stage(t, message);
  if (eb_json_is_object(plan))
    snprintf(line, sizeof line, "Plan: %.2048s", eb_json_get_string(plan, "reason", "?"));
  else if (eb_json_is_object(verdict))
    snprintf(line, sizeof line, "Verdict");
  else
    snprintf(line, sizeof line, "%s%.2048s",
             strcmp(eb_json_get_string(message, "kind", ""), "caution") == 0 ? "Caution: " : "Told: ", words);
  say_line(t, index, EB_PLAIN, line);
  if (t->account->taken_back_by[index] != 0 || (plan == NULL && verdict == NULL))
    return;
  if (words[0] != '\0')
    eb_page_paragraph(&t->page, EB_PLAIN, indent, indent, words);
  if (verdict != NULL)
    eb_chart_verdict(&t->page, t->layout, verdict);
  eb_view_moves(&t->page, t->layout, plan);
}

static void describe_value(const eb_json *record, char *text, size_t size)
{
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "caution") == 0)
    snprintf(text, size, "seen to (code %.20s)", eb_json_get_string(ask, "code", "?"));
  else if (strcmp(kind, "choose") == 0)
    snprintf(text, size, "%s", eb_account_option(ask, value));
  else if (strcmp(kind, "engine") == 0)
    snprintf(text, size, "%s", strcmp(eb_json_get_string(ask, "state", ""), "running") == 0 ? "runs" : "stands still");
  else
    eb_format_value(value, eb_json_get_string(record, "unit", ""), text, size);
}

/* Parts that the title does not name already. */
static void list_parts(const eb_json *ask, const char *key, const char *lead, char *text, size_t size)
{
  size_t used = strlen(text);
  const eb_json *parts = eb_json_get(ask, key);
  const char *title = eb_json_get_string(ask, "title", "");
  if (eb_json_count(parts) == 1 && strstr(title, eb_json_as_string(eb_json_first(parts), "")) != NULL)
    return;
  for (const eb_json *part = eb_json_first(parts); part != NULL && used < size; part = eb_json_next(part)) {
    int more = snprintf(text + used, size - used, "%s%s", part == eb_json_first(parts) ? lead : ", ",
                        eb_json_as_string(part, "?"));
    used += more < 0 ? size : (size_t)more;
  }
}

/* What stands behind the value: how it was typed, its pass, parts, the slip that it was asked twice for. */
static void describe_details(const eb_json *record, char *text, size_t size)
{
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *given = eb_json_get(record, "given");
  const eb_json *number = eb_json_get(record, "value");
  const char *typed = eb_json_get_string(record, "typed", NULL);
  char value[200];
  text[0] = '\0';
  if (strcmp(eb_json_get_string(ask, "kind", ""), "reading") == 0)
    snprintf(text, size, "; pass %d, %.60s%s%.8s", eb_json_get_int(ask, "pass", 0),
             eb_json_get_string(ask, "condition", "?"), eb_json_get(ask, "pushed") == NULL ? "" : ", pushed ",
             eb_json_get_string(ask, "pushed", ""));
  size_t used = strlen(text);
  if (given != NULL)
    snprintf(text + used, size - used, "; given as %s", eb_format_value(given, "", value, sizeof value));
  else if (typed != NULL && eb_json_is_number(number) &&
           strcmp(typed, eb_format_value(number, "", value, sizeof value)) != 0)
    snprintf(text + used, size - used, "; typed as %.60s", typed);
  used = strlen(text);
  if (eb_json_get(ask, "again") != NULL)
    snprintf(text + used, size - used, "; asked again: %.200s",
             eb_json_get_string(eb_json_get(ask, "again"), "why", "?"));
  if (eb_json_as_bool(eb_json_get(record, "value"), false)) {
    list_parts(ask, "takes_off", "; off: ", text, size);
    list_parts(ask, "refits", "; back on: ", text, size);
  }
  used = strlen(text);
  if (eb_json_get_bool(record, "resume", false) && used < size)
    snprintf(text + used, size - used, "; asked on coming back");
}

/* What was wished of an adjuster, beside what was done. */
static void say_wished(telling *t, const eb_json *ask)
{
  static const char indent[] = "             ";
  char text[600];
  char line[700];
  const eb_json *share = eb_json_get(ask, "share");
  if (eb_prompt_share(share, true, text, sizeof text)[0] != '\0') {
    snprintf(line, sizeof line, "wished: open (more air) %s", text);
    eb_page_paragraph(&t->page, EB_PLAIN, indent, indent, line);
  }
  if (eb_prompt_share(share, false, text, sizeof text)[0] != '\0') {
    snprintf(line, sizeof line, "wished: close (less air) %s", text);
    eb_page_paragraph(&t->page, EB_PLAIN, indent, indent, line);
  }
  if (eb_json_is_object(eb_json_get(ask, "amount"))) {
    const eb_json *amount = eb_json_get(ask, "amount");
    snprintf(line, sizeof line, "%s about %s",
             eb_json_get_bool(amount, "to", false) ? "wished length:" : "wished amount:",
             eb_format_value(amount, "", text, 200));
    eb_page_paragraph(&t->page, EB_PLAIN, indent, indent, line);
  }
}

static void say_answer(telling *t, size_t index)
{
  const eb_json *record = eb_account_record(t->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  char title[300];
  char value[1200];
  char details[800];
  char line[LINE_SIZE];
  say_stage(t, ask);
  describe_value(record, value, sizeof value);
  describe_details(record, details, sizeof details);
  snprintf(line, sizeof line, "%s: %s%s", eb_prompt_title(ask, title, sizeof title), value, details);
  say_line(t, index, EB_PLAIN, line);
  if (strcmp(eb_json_get_string(ask, "kind", ""), "adjust") != 0)
    return;
  say_wished(t, ask);
}

static void say_withdraw(telling *t, size_t index)
{
  char line[LINE_SIZE];
  size_t used = (size_t)snprintf(line, sizeof line, "Taken back: record");
  for (size_t i = 0; i < index && used < sizeof line - 32; i++)
    if (t->account->taken_back_by[i] == index + 1 && eb_account_is(t->account, i, "answer"))
      used += (size_t)snprintf(line + used, sizeof line - used, " %zu", i + 1);
  const char *undo = eb_json_get_string(eb_account_record(t->account, index), "undo", "");
  snprintf(line + used, sizeof line - used, "%s%s", undo[0] == '\0' ? "" : ". ", undo);
  say_line(t, index, EB_PLAIN, line);
}

static void say_end(telling *t, size_t index)
{
  const eb_json *end = eb_account_record(t->account, index);
  const eb_json *claim = eb_json_get(end, "claim");
  char claimed[EB_FORMAT_SIZE];
  char risk[EB_FORMAT_SIZE];
  char line[LINE_SIZE];
  eb_page_blank(&t->page);
  snprintf(line, sizeof line, "Ended: %.40s. %.2048s", eb_json_get_string(end, "outcome", "?"),
           eb_json_get_string(end, "summary", ""));
  say_line(t, index, EB_STRONG, line);
  if (eb_json_get_number(claim, "tolerance", 1) < 1)
    eb_page_sayf(&t->page, "Claim: even within %s, at a risk of %s of being wrong.",
                 eb_format_percent(eb_format_round_up(eb_json_get_number(claim, "tolerance", 1)), false, claimed),
                 eb_format_percent(eb_json_get_number(claim, "risk", 0), false, risk));
}

static void say_record(telling *t, size_t index)
{
  const eb_json *record = eb_account_record(t->account, index);
  char line[LINE_SIZE];
  if (eb_account_is(t->account, index, "told")) {
    say_told(t, index);
  } else if (eb_account_is(t->account, index, "answer")) {
    say_answer(t, index);
  } else if (eb_account_is(t->account, index, "withdraw")) {
    say_withdraw(t, index);
  } else if (eb_account_is(t->account, index, "end")) {
    say_end(t, index);
  } else if (eb_account_is(t->account, index, "note")) {
    snprintf(line, sizeof line, "Note: %.3900s", eb_json_get_string(record, "text", ""));
    say_line(t, index, EB_PLAIN, line);
  } else if (eb_account_is(t->account, index, "recovered")) {
    snprintf(line, sizeof line, "Recovered: %.0f bytes of an unfinished record, kept in %.600s",
             eb_json_get_number(record, "bytes", 0), eb_json_get_string(record, "kept", "?"));
    say_line(t, index, EB_PLAIN, line);
  } else if (!eb_account_is(t->account, index, "open")) {
    snprintf(line, sizeof line, "A record of kind \"%.60s\", which this version does not know",
             eb_json_get_string(record, "kind", "?"));
    say_line(t, index, EB_PLAIN, line);
  }
}

static void say_standing(telling *t)
{
  const eb_recovery *recovery = &t->account->recovery;
  eb_page_blank(&t->page);
  if (recovery->damaged_record > 0) {
    char line[400];
    snprintf(line, sizeof line,
             "Damaged: record %zu, %s. What stands before it is shown; what comes behind it is not "
             "believed.",
             recovery->damaged_record, recovery->damage);
    eb_page_paragraph(&t->page, EB_ALARM, "", "", line);
  } else if (recovery->torn_bytes > 0) {
    eb_page_sayf(&t->page, "The file ends in %zu bytes of an unfinished record; a resume puts them aside.",
                 recovery->torn_bytes);
  }
  if (recovery->damaged_record == 0 && eb_account_end(t->account) == NULL)
    eb_page_say(&t->page, "Open: the job is not over. No claim is made before its end.");
}

static void tell(telling *t)
{
  t->layout = eb_account_layout(t->account);
  if (t->account->count > 0)
    say_open(t, eb_account_record(t->account, 0));
  for (size_t i = 0; i < t->account->count; i++)
    say_record(t, i);
  say_standing(t);
}

int eb_run_show(const eb_run *run)
{
  char folder[EB_SESSION_PATH_SIZE];
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_error error;
  eb_status status = eb_sessions_folder(run->options.data, folder, &error);
  if (status == EB_OK)
    status = eb_sessions_find(run->host, folder, run->options.argument, path, &error);
  if (status == EB_OK)
    status = eb_account_read(run->host, path, &account, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  telling t = {.account = &account};
  eb_page_init(&t.page, run->host, run->columns, run->utf8, run->styled);
  tell(&t);
  eb_json_destroy(t.layout);
  int exit_status = eb_run_print(run, &t.page);
  if (exit_status == EB_EXIT_DONE)
    exit_status = eb_run_account_status(run, path, &account.recovery);
  eb_account_clear(&account);
  return exit_status;
}
