/* The terminal: a session for a person, line by line, so that it reads as well by ear and on a printer. */
#include "chart.h"
#include "console.h"
#include "job.h"
#include "keys.h"
#include "prompt.h"
#include "view.h"

#include "evenbore/account.h"
#include "evenbore/format.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* What is done with the lines that come. */
typedef struct terminal {
  const eb_job *job;
  eb_console console;
  eb_view view;
  int exit_status;
  bool pauses;
  size_t written; /* bytes since the last answer */
  bool echoes;    /* what is typed is seen on the screen */
  bool broken;    /* the company cannot go on */
} terminal;

static void flush(terminal *t)
{
  if (t->view.page.text.failed) {
    static const char words[] = "out of memory: this message cannot be shown; nothing is lost\n";
    eb_console_write(&t->console, words, sizeof words - 1);
    t->view.page.text.failed = false;
  }
  eb_console_write(&t->console, eb_text_string(&t->view.page.text), t->view.page.text.size);
  t->written += t->view.page.text.size;
  eb_text_reset(&t->view.page.text);
}

static void say(terminal *t, const char *text)
{
  eb_page_say(&t->view.page, text);
}

static void refuse(terminal *t, const char *text)
{
  eb_page_paragraph(&t->view.page, EB_STRONG, "Not taken: ", "  ", text);
}

/* What stands on a line must be fit to be shown back, kept in a record and printed. */
static bool readable(terminal *t, const char *line, size_t size)
{
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(line + at, size - at, &c);
    if (length == 0) {
      refuse(t, "the line is not UTF-8 text; type it again.");
      return false;
    }
    if (c != '\t' && eb_char_unprintable(c)) {
      refuse(t, "the line holds a control character, as from an arrow key; type it again.");
      return false;
    }
    at += length;
  }
  return true;
}

static void put_prompt(terminal *t)
{
  eb_text_add(&t->view.page.text, "> ");
  flush(t);
}

/* A line of the person's own.  NULL where the job is to pause. */
static const char *read_line(terminal *t, size_t *size)
{
  for (;;) {
    put_prompt(t);
    const char *line = NULL;
    eb_arrival arrival = eb_console_read(&t->console, &line, size);
    eb_page_fit(&t->view.page, eb_run_columns()); /* the terminal may have been resized meanwhile */
    bool ends = arrival == EB_ARRIVED_SIGNAL || arrival == EB_ARRIVED_END;
    if (ends || !t->echoes)
      eb_text_add(&t->view.page.text, "\n"); /* else the Enter that was typed has ended the prompt's line */
    t->view.page.blank = false;
    t->pauses = t->pauses || ends;
    if (ends)
      return NULL;
    if (arrival == EB_ARRIVED_LINE && readable(t, line, *size))
      return line;
    if (arrival == EB_ARRIVED_TOO_LONG)
      refuse(t, "the line is longer than 64 KiB; type a short one.");
  }
}

/* Where the procedure has failed, the session's last message says why; else the ask is still open. */
static void check(terminal *t, eb_status status, const eb_error *error)
{
  if (status != EB_OK && eb_session_where(t->job->session) == EB_SESSION_ASKS)
    refuse(t, error->message);
}

/* Which ask is open; 0: none is. */
static double open_number(const terminal *t)
{
  return eb_json_get_number(eb_session_ask(t->job->session), "n", 0);
}

static void type(terminal *t, const char *text, size_t size)
{
  eb_error error;
  const eb_company *company = t->job->company;
  double number = open_number(t);
  if (company != NULL)
    text = company->translate(company->context, eb_session_ask(t->job->session), text, &size);
  eb_status status = eb_session_type(t->job->session, text, size, &error);
  check(t, status, &error);
  double now = open_number(t);
  if (company != NULL && status == EB_OK && (now < number || now > number))
    company->act(company->context, &t->view.page);
}

/* The answer to a question of the program's own, which back leaves, and pause the whole job. NULL where it was left. */
static const char *read_reply(terminal *t, size_t *size)
{
  const char *line = read_line(t, size);
  const char *rest = NULL;
  size_t rest_size = 0;
  if (line == NULL)
    return NULL;
  eb_key key = eb_key_read(line, *size, true, &rest, &rest_size);
  t->pauses = key == EB_KEY_PAUSE;
  if (key == EB_KEY_EMPTY || key == EB_KEY_BACK || key == EB_KEY_PAUSE)
    return NULL;
  if (key == EB_KEY_NONE) {
    line = rest;
    *size = rest_size;
  }
  return line;
}

/* A text of the person's own, copied, since reading on takes the line away. False where there is none. */
static bool ask_text(terminal *t, const char *question, eb_text *text)
{
  say(t, question);
  size_t size = 0;
  const char *reply = read_reply(t, &size);
  if (reply == NULL)
    return false;
  eb_text_add_bytes(text, reply, size);
  return !text->failed;
}

/* One of three usual reasons by number, or a reason in words. */
static void spell_reason(eb_text *text, const char *const usual[3])
{
  const char *typed = eb_text_string(text);
  if (text->size != 1 || typed[0] < '1' || typed[0] > '3')
    return;
  const char *reason = usual[typed[0] - '1'];
  eb_text_reset(text);
  eb_text_add(text, reason);
}

static void do_note(terminal *t, const char *rest, size_t size)
{
  eb_text text;
  eb_text_init(&text, t->job->run->host);
  eb_text_add_bytes(&text, rest, size);
  if (size > 0 || ask_text(t, "The note, on one line (Enter alone: none):", &text)) {
    eb_error error;
    check(t, eb_session_note(t->job->session, eb_text_string(&text), &error), &error);
  }
  eb_text_clear(&text);
}

static bool sure_to_stop(terminal *t)
{
  say(t,
      "Type 1 to end this job for good, anything else to go on with it. To come back to it later, pause (//) instead.");
  size_t size = 0;
  const char *reply = read_reply(t, &size);
  return reply != NULL && size == 1 && reply[0] == '1';
}

static void do_stop(terminal *t, const char *rest, size_t size)
{
  static const char *const usual[3] = {"out of time", "a fault on the engine", "other"};
  eb_text text;
  eb_text_init(&text, t->job->run->host);
  eb_text_add_bytes(&text, rest, size);
  bool given = size > 0 || ask_text(t,
                                    "Why stop? 1 out of time, 2 a fault on the engine, 3 other, or in words "
                                    "(Enter alone: go on with the job):",
                                    &text);
  spell_reason(&text, usual);
  if (given && sure_to_stop(t)) {
    eb_error error;
    check(t, eb_session_stop(t->job->session, eb_text_string(&text), &error), &error);
  } else if (!t->pauses) {
    say(t, "Going on.");
  }
  eb_text_clear(&text);
}

static void do_chart(terminal *t)
{
  eb_page *page = &t->view.page;
  const eb_json *verdict = eb_session_verdict(t->job->session);
  if (verdict != NULL) {
    eb_chart_verdict(page, t->view.layout, verdict);
    return;
  }
  if (t->view.layout == NULL) {
    say(t, "There is nothing to draw yet: the layout is still to be settled.");
    return;
  }
  eb_account account;
  eb_json *readings = NULL;
  if (eb_account_read(t->job->host, t->view.file, &account, NULL) == EB_OK) {
    readings = eb_account_readings(&account);
    eb_account_clear(&account);
  }
  eb_chart_layout(page, t->view.layout, readings);
  say(t, eb_json_count(readings) > 0 ? "Readings since the engine was started. There is no verdict yet."
                                     : "No readings yet.");
  eb_json_destroy(readings);
}

static void do_help(terminal *t, const eb_json *ask)
{
  static const char *const lines[] = {
      "back   -   take the last answer back",
      "note   +   write something down, as in: note idle hunts",
      "why    *   why this is asked",
      "chart  /   the last verdict, or the readings so far",
      "pause  //  leave, to go on later",
      "stop   --  end the job for good",
      "help   **  this",
  };
  eb_prompt_explain(&t->view.page, ask);
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
    eb_page_paragraph(&t->view.page, EB_PLAIN, "  ", "             ", lines[i]);
}

/* What the company sees belongs to the prompt. */
static void show_sight(terminal *t, const eb_json *ask)
{
  const eb_company *company = t->job->company;
  if (company != NULL && !t->broken)
    t->broken = !company->show(company->context, &t->view.page, ask);
}

static void repeat_prompt(terminal *t)
{
  const eb_json *ask = eb_session_ask(t->job->session);
  eb_prompt_repeat(&t->view.page, ask);
  show_sight(t, ask);
}

/* The question again, where what was shown has pushed it up. */
static void repeat(terminal *t)
{
  eb_page_blank(&t->view.page);
  repeat_prompt(t);
}

static void do_key(terminal *t, eb_key key, const char *rest, size_t size)
{
  eb_error error = {.status = EB_OK};
  eb_session *session = t->job->session;
  const eb_json *ask = eb_session_ask(session);
  switch (key) {
  case EB_KEY_BACK: check(t, eb_session_back(session, &error), &error); break;
  case EB_KEY_NOTE: do_note(t, rest, size); break;
  case EB_KEY_WHY: check(t, eb_session_why(session, &error), &error); break;
  case EB_KEY_CHART:
    do_chart(t);
    repeat(t);
    break;
  case EB_KEY_PAUSE: t->pauses = true; break;
  case EB_KEY_STOP: do_stop(t, rest, size); break;
  case EB_KEY_HELP:
    do_help(t, ask);
    repeat(t);
    break;
  case EB_KEY_EMPTY: repeat_prompt(t); break;
  case EB_KEY_NONE: break;
  }
}

static bool is_kind(const eb_json *ask, const char *kind)
{
  return strcmp(eb_json_get_string(ask, "kind", ""), kind) == 0;
}

/* An answer that wants a reason with it: "0" to a move, "00" to a reading. */
static void answer_with_reason(terminal *t, const char *answer, const char *question, const char *const usual[3])
{
  eb_text reason;
  eb_text line;
  eb_text_init(&reason, t->job->run->host);
  eb_text_init(&line, t->job->run->host);
  if (ask_text(t, question, &reason)) {
    spell_reason(&reason, usual);
    eb_text_printf(&line, "%s %s", answer, eb_text_string(&reason));
    if (!line.failed)
      type(t, line.bytes, line.size);
  } else if (!t->pauses) {
    say(t, "Nothing taken; the question stands.");
  }
  eb_text_clear(&reason);
  eb_text_clear(&line);
}

static void answer(terminal *t, const eb_json *ask, const char *text, size_t size)
{
  static const char *const not_done[3] = {"seized", "no travel left", "other"};
  static const char *const not_read[3] = {"not steady", "out of reach", "other"};
  if (is_kind(ask, "adjust") && size == 1 && text[0] == '0')
    answer_with_reason(
        t, "0", "Why not? 1 seized, 2 no travel left, 3 other, or in words (Enter alone: back to the move):", not_done);
  else if (is_kind(ask, "reading") && size == 2 && memcmp(text, "00", 2) == 0)
    answer_with_reason(t, "00",
                       "Why not? 1 not steady, 2 out of reach, 3 other, or in words (Enter alone: back to the "
                       "reading):",
                       not_read);
  else
    type(t, text, size);
}

/* A mistyped key at a prompt that wants no words. */
static void suggest(terminal *t, const eb_json *ask, const char *text, size_t size)
{
  char word[16];
  if (size >= sizeof word || is_kind(ask, "text") || is_kind(ask, "choose") || strspn(text, "0123456789") > 0)
    return;
  memcpy(word, text, size);
  word[size] = '\0';
  const char *near = eb_key_nearest(word);
  if (near != NULL)
    eb_page_sayf(&t->view.page, "If you mean the key, it is %s.", near);
}

static void take_line(terminal *t, const char *line, size_t size)
{
  const eb_json *ask = eb_session_ask(t->job->session);
  const char *rest = NULL;
  eb_key key = eb_key_read(line, size, is_kind(ask, "text"), &rest, &size);
  const char *usual = eb_prompt_default(ask);
  if (key == EB_KEY_EMPTY && usual != NULL)
    type(t, usual, strlen(usual));
  else if (key != EB_KEY_NONE)
    do_key(t, key, rest, size);
  else {
    suggest(t, ask, rest, size);
    answer(t, ask, rest, size);
  }
}

static void show_message(terminal *t, const eb_json *message)
{
  const eb_company *company = t->job->company;
  if (company != NULL && !company->hear(company->context, message))
    t->broken = true;
  if (!eb_view_show(&t->view, message))
    t->view.page.text.failed = true;
}

static void show_messages(terminal *t)
{
  const eb_json *message;
  while (!t->broken && (message = eb_session_next(t->job->session)) != NULL) {
    const char *kind = eb_json_get_string(message, "type", "");
    show_message(t, message);
    if (strcmp(kind, "ask") == 0)
      show_sight(t, message);
    flush(t);
    if (strcmp(kind, "end") == 0)
      t->exit_status = eb_job_end(t->job, message);
  }
}

static void say_recovery(terminal *t, const eb_recovery *recovery)
{
  if (recovery->torn_bytes == 0)
    return;
  char line[EB_PAGE_COLUMNS_MAX + sizeof recovery->kept + 200];
  snprintf(line, sizeof line,
           "The session was cut off while it was being written: %zu bytes of an unfinished record were "
           "put aside in %s. Every answer that was taken is there.",
           recovery->torn_bytes, recovery->kept);
  say(t, line);
}

/* Where the job stands: how many answers hold, and the last of them. */
static void say_standing(terminal *t)
{
  eb_account account;
  if (eb_account_read(t->job->host, t->view.file, &account, NULL) != EB_OK)
    return;
  size_t last = 0;
  int answers = 0;
  for (size_t i = 0; i < account.count; i++)
    if (account.taken_back_by[i] == 0 && eb_account_is(&account, i, "answer")) {
      last = i;
      answers++;
    }
  if (answers > 0) {
    const eb_json *record = eb_account_record(&account, last);
    char title[200];
    char value[200];
    eb_format_value(eb_json_get(record, "value"), eb_json_get_string(record, "unit", ""), value, sizeof value);
    eb_page_sayf(&t->view.page, "%d answer%s so far; the last: %s, %s (record %zu).", answers, answers == 1 ? "" : "s",
                 eb_prompt_title(eb_json_get(record, "ask"), title, sizeof title), value, last + 1);
  }
  eb_account_clear(&account);
}

/* The greeting comes first, and on a resume what was met with it. */
static void greet(terminal *t)
{
  const eb_json *hello = eb_session_next(t->job->session);
  if (hello == NULL)
    return;
  show_message(t, hello);
  if (t->job->recovery != NULL) {
    say_recovery(t, t->job->recovery);
    say_standing(t);
  }
  flush(t);
}

/* A command to be typed stands on a line of its own, unbroken, so that it can be copied. */
static void say_command(terminal *t, const char *lead, const char *words)
{
  say(t, lead);
  eb_page_put(&t->view.page, EB_PLAIN, "  ");
  eb_page_put(&t->view.page, EB_PLAIN, words);
  eb_page_end(&t->view.page);
}

static void say_farewell(terminal *t)
{
  char words[512];
  char data[256];
  eb_session_state where = eb_session_where(t->job->session);
  eb_job_resume_words(t->job, words, sizeof words);
  if (where == EB_SESSION_ENDED) {
    snprintf(words, sizeof words, "evenbore show %s%s", t->job->id, eb_run_data(t->job->run, data, sizeof data));
    say_command(t, "The whole account:", words);
  } else if (where == EB_SESSION_FAILED) {
    say_command(t, "To try again:", words);
  } else {
    say_command(t, "Paused, nothing is lost. To go on:", words);
  }
}

static void hear_person(terminal *t)
{
  size_t size = 0;
  const char *line = read_line(t, &size);
  if (line != NULL)
    take_line(t, line, size);
}

/* The company answers; a person reads along and may leave. */
static void hear_company(terminal *t)
{
  enum { LONGEST_MS = 6000 };
  eb_error error;
  const eb_company *company = t->job->company;
  size_t rest_ms = t->written * (size_t)company->pace_ms;
  t->pauses = !eb_console_rest(&t->console, rest_ms < LONGEST_MS ? (int)rest_ms : LONGEST_MS);
  const char *line =
      t->pauses ? NULL : company->answer(company->context, &t->view.page, eb_session_ask(t->job->session));
  flush(t);
  if (line != NULL)
    check(t, eb_session_take(t->job->session, line, strlen(line), &error), &error);
  else
    t->broken = !t->pauses;
}

static void lead(terminal *t)
{
  const eb_company *company = t->job->company;
  greet(t);
  show_messages(t);
  while (eb_session_where(t->job->session) == EB_SESSION_ASKS && !t->broken) {
    if (company != NULL && company->answer != NULL)
      hear_company(t);
    else
      hear_person(t);
    if (t->pauses)
      eb_session_pause(t->job->session, NULL);
    t->written = 0;
    show_messages(t);
  }
  if (t->broken)
    t->exit_status = EB_EXIT_FAILED;
  else if (company != NULL)
    company->farewell(company->context, &t->view.page);
  else
    say_farewell(t);
  flush(t);
}

int eb_terminal_run(const eb_job *job)
{
  const eb_run *run = job->run;
  terminal t = {.job = job, .echoes = isatty(STDIN_FILENO) == 1};
  eb_error error;
  if (eb_console_open(run->host, STDIN_FILENO, STDOUT_FILENO, &t.console, &error) != EB_OK) {
    eb_run_complain(run, &error);
    return EB_EXIT_FAILED;
  }
  eb_view_init(&t.view, run->host, run->columns, run->utf8, run->styled);
  lead(&t);
  if (t.console.write_failure != 0) {
    eb_fail(&error, EB_IO, "standard output", "cannot be written (%s)%s", strerror(t.console.write_failure),
            job->company == NULL ? "; the session is paused" : "");
    eb_run_complain(run, &error);
    t.exit_status = EB_EXIT_FAILED;
  }
  eb_view_clear(&t.view);
  eb_console_close(&t.console);
  return t.exit_status;
}
