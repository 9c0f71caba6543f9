#include "evenbore/account.h"
#include "evenbore/layout.h"

#include <stdio.h>
#include <string.h>

const eb_json *eb_account_record(const eb_account *account, size_t index)
{
  return eb_journal_record(account->journal, index);
}

bool eb_account_is(const eb_account *account, size_t index, const char *kind)
{
  return strcmp(eb_json_get_string(eb_account_record(account, index), "kind", ""), kind) == 0;
}

/* A withdrawal takes back the answer `to` and every answer and message behind it. */
static void take_back(eb_account *account, size_t withdraw)
{
  double to = eb_json_get_number(eb_account_record(account, withdraw), "to", 0);
  size_t from = withdraw;
  for (size_t i = withdraw; i > 0; i--)
    if (account->taken_back_by[i - 1] == 0 && eb_account_is(account, i - 1, "answer") &&
        eb_json_get_number(eb_account_record(account, i - 1), "n", 0) >= to)
      from = i - 1;
  for (size_t i = from; i < withdraw; i++)
    if (account->taken_back_by[i] == 0 && (eb_account_is(account, i, "answer") || eb_account_is(account, i, "told")))
      account->taken_back_by[i] = withdraw + 1;
}

eb_status eb_account_read(const eb_host *host, const char *path, eb_account *account, eb_error *error)
{
  eb_account read = {.host = host};
  eb_status status = eb_journal_read(host, path, &read.journal, &read.recovery, error);
  if (status != EB_OK)
    return status;
  read.count = eb_journal_count(read.journal);
  read.taken_back_by = host->allocate(host->context, NULL, (read.count + 1) * sizeof *read.taken_back_by);
  if (read.taken_back_by == NULL) {
    eb_journal_close(read.journal);
    return eb_fail(error, EB_OUT_OF_MEMORY, path, "out of memory");
  }
  memset(read.taken_back_by, 0, (read.count + 1) * sizeof *read.taken_back_by);
  for (size_t i = 0; i < read.count; i++)
    if (eb_account_is(&read, i, "withdraw"))
      take_back(&read, i);
  *account = read;
  return EB_OK;
}

void eb_account_clear(eb_account *account)
{
  account->host->allocate(account->host->context, account->taken_back_by, 0);
  eb_journal_close(account->journal);
}

static eb_json *declared_layout(const eb_account *account)
{
  eb_layout layout;
  const eb_json *open = account->count == 0 ? NULL : eb_account_record(account, 0);
  const eb_json *declared = eb_json_get(eb_json_get(open, "declare"), "layout");
  if (declared == NULL || eb_layout_read(declared, "record 1", &layout, NULL) != EB_OK)
    return NULL;
  return eb_layout_json(&layout);
}

eb_json *eb_account_layout(const eb_account *account)
{
  for (size_t i = account->count; i > 0; i--) {
    const eb_json *layout = eb_json_get(eb_json_get(eb_account_record(account, i - 1), "message"), "layout");
    if (account->taken_back_by[i - 1] == 0 && eb_json_is_object(layout))
      return eb_json_copy(layout);
  }
  return declared_layout(account);
}

static bool add_reading(eb_json *readings, const eb_json *ask, const eb_json *value)
{
  const char *bore = eb_json_get_string(ask, "bore", "?");
  if (eb_json_is_number(value))
    return eb_json_set(readings, bore, eb_json_copy(value));
  return eb_json_set_string(readings, bore, "none");
}

/* Readings of two running periods do not compare: only those since the last start are put together. */
eb_json *eb_account_readings(const eb_account *account)
{
  eb_json *readings = eb_json_object();
  bool made = readings != NULL;
  for (size_t i = 0; made && i < account->count; i++) {
    const eb_json *ask = eb_json_get(eb_account_record(account, i), "ask");
    const char *kind = eb_json_get_string(ask, "kind", "");
    if (account->taken_back_by[i] != 0)
      continue;
    if (strcmp(kind, "engine") == 0) {
      eb_json_destroy(readings);
      readings = eb_json_object();
      made = readings != NULL;
    } else if (strcmp(kind, "reading") == 0 && strcmp(eb_json_get_string(ask, "pushed", ""), "open") != 0) {
      made = add_reading(readings, ask, eb_json_get(eb_account_record(account, i), "value"));
    }
  }
  if (made)
    return readings;
  eb_json_destroy(readings);
  return NULL;
}

const eb_json *eb_account_end(const eb_account *account)
{
  return account->count > 0 && eb_account_is(account, account->count - 1, "end")
             ? eb_account_record(account, account->count - 1)
             : NULL;
}

const char *eb_account_option(const eb_json *ask, const eb_json *value)
{
  const char *id = eb_json_as_string(value, "?");
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  for (; option != NULL; option = eb_json_next(option))
    if (strcmp(eb_json_get_string(option, "id", ""), id) == 0)
      return eb_json_get_string(option, "text", id);
  return id;
}

const char *eb_account_practice(const eb_json *open, char text[EB_ACCOUNT_PRACTICE_SIZE])
{
  const eb_json *practice = eb_json_get(eb_json_get(open, "inputs"), "practice");
  if (practice == NULL)
    return NULL;
  snprintf(text, EB_ACCOUNT_PRACTICE_SIZE, "Practice: a simulated engine (seed %.0f). This is no record of a real one.",
           eb_json_get_number(practice, "seed", 0));
  return text;
}
