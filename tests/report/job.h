/* Journals of jobs that never were, for the report's tests: every text in them can be set. */
#ifndef EB_TESTS_REPORT_JOB_H
#define EB_TESTS_REPORT_JOB_H

#include "evenbore/report.h"
#include "evenbore/scratch.h"

#include <stdio.h>
#include <string.h>

typedef struct job {
  eb_scratch *scratch;
  const eb_host *host;
  eb_journal *journal;
  const char *words; /* stands in every text */
  int n;
} job;

static inline eb_json *parse(const char *text)
{
  eb_json *json = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &json, NULL), EB_OK);
  return json;
}

/* Puts the job's words in place of every string "W" of a tree. */
static inline void fill(eb_json *json, const char *words)
{
  for (int i = 0; eb_json_is_array(json) && i < eb_json_count(json); i++)
    fill(eb_json_element(json, i), words);
  if (!eb_json_is_object(json))
    return;
  for (const eb_json *member = eb_json_first(json); member != NULL; member = eb_json_next(member)) {
    char key[64];
    snprintf(key, sizeof key, "%s", eb_json_key(member));
    if (strcmp(eb_json_as_string(member, ""), "W") == 0) {
      assert_true(eb_json_set_string(json, key, words));
      member = eb_json_get(json, key);
    } else {
      fill(eb_json_member(json, key), words);
    }
  }
}

static inline void job_begin(job *j, const char *words, const char *layout)
{
  char text[16384];
  eb_error error;
  *j = (job){.words = words};
  assert_int_equal(eb_scratch_create(eb_host_system(), &j->scratch, &error), EB_OK);
  j->host = eb_scratch_host(j->scratch);
  snprintf(
      text, sizeof text,
      "{\"time\":\"2026-03-04T05:06:07.089+01:00\",\"session\":\"W\",\"program\":\"W\",\"procedure\":{\"id\":\"W\","
      "\"title\":\"W\",\"version\":\"W\",\"name\":\"W\",\"digest\":\"W\"},\"declare\":{\"layout\":%s},"
      "\"gauge\":{\"low\":1,\"high\":30,\"step\":0.25,\"best\":[1,10],\"repeatability\":0.02,\"unit\":\"W\","
      "\"vent\":\"W\"},\"tolerance\":0.05,\"risk\":0.05,\"inputs\":{\"engine\":\"W\",\"origin\":{\"maker\":\"W\","
      "\"fingerprint\":\"W\",\"standing\":\"W\"}},\"known\":{\"session\":\"W\",\"time\":\"W\",\"digest\":\"W\","
      "\"adjusters\":[{\"adjuster\":\"W\",\"kind\":\"W\",\"sides\":[[\"1\"],[\"2\"]],\"gain\":0.8,\"spread\":0.2,"
      "\"moves\":"
      "3}]}}",
      layout);
  eb_json *open = parse(text);
  fill(open, words);
  assert_int_equal(eb_journal_create(j->host, "job", open, &j->journal, &error), EB_OK);
  eb_json_destroy(open);
}

static inline void job_add(job *j, const char *text)
{
  eb_error error;
  eb_json *record = parse(text);
  fill(record, j->words);
  if (strcmp(eb_json_get_string(record, "kind", ""), "answer") == 0)
    assert_true(eb_json_set_number(record, "n", ++j->n));
  assert_int_equal(eb_journal_append(j->journal, record, true, &error), EB_OK);
}

/* A verdict at idle; each bore deviates by `deviation`, alternately up and down. */
static inline void job_verdict(job *j, char bores[][32], int count, double value, double deviation, const char *word)
{
  char text[16384];
  size_t used = (size_t)snprintf(
      text, sizeof text,
      "{\"kind\":\"told\",\"message\":{\"type\":\"tell\",\"kind\":\"verdict\",\"text\":\"W\",\"verdict\":{\"word\":"
      "\"uneven\",\"tolerance\":0.05,\"risk\":0.05,\"claim\":0.12,\"spread\":%.6f,\"worst\":\"%s\",\"condition\":"
      "\"idle\",\"contrasts\":[],\"bores\":{",
      deviation, bores[0]);
  for (int i = 0; i < count; i++)
    used += (size_t)snprintf(
        text + used, sizeof text - used, "%s\"%s\":{\"value\":%.6f,\"deviation\":%.6f,\"doubt\":0.01,\"word\":\"%s\"}",
        i == 0 ? "" : ",", bores[i], value, i % 2 == 0 ? deviation : -deviation / (1 + deviation), word);
  snprintf(text + used, sizeof text - used, "}}}}");
  job_add(j, text);
}

/* The program that makes the reports; NULL: not told. */
static const char *job_reader __attribute__((unused));

static inline void job_write(job *j, eb_report_form form, bool semicolon, eb_text *text)
{
  eb_account account;
  eb_error error;
  eb_report_options options = {.form = form, .semicolon = semicolon, .program = job_reader};
  assert_int_equal(eb_account_read(j->host, "job", &account, &error), EB_OK);
  eb_text_init(text, eb_host_system());
  assert_int_equal(eb_report_write(&account, &options, text, &error), EB_OK);
  eb_account_clear(&account);
}

static inline void job_end(job *j)
{
  eb_journal_close(j->journal);
  eb_scratch_destroy(j->scratch);
}

static const char job_twin[] =
    "{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\",\"title\":"
    "\"balance screw\",\"sides\":[[\"1\"],[\"2\"]]}]}";
static char job_twin_bores[2][32] = {"1", "2"};

/* Two verdicts with one adjustment between them, and a reading that was taken back. */
static inline void job_play(job *j, const char *words)
{
  job_begin(j, words, job_twin);
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"caution\",\"key\":\"k\",\"title\":\"W\"},"
             "\"value\":true}");
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"number\",\"key\":\"k\",\"title\":\"W\"},"
             "\"value\":88,\"unit\":\"W\",\"given\":{\"value\":190.4,\"unit\":\"W\"}}");
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"text\",\"key\":\"k\",\"title\":\"W\"},"
             "\"value\":\"W\"}");
  job_add(j, "{\"kind\":\"note\",\"time\":\"W\",\"text\":\"W\"}");
  job_verdict(j, job_twin_bores, 2, 6.25, 0.08, "uneven");
  job_add(j, "{\"kind\":\"told\",\"message\":{\"type\":\"tell\",\"kind\":\"plan\",\"text\":\"W\",\"plan\":{\"step\":"
             "\"move\",\"expected\":{\"1\":0.01,\"2\":-0.01},\"reason\":\"W\"}}}");
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"adjust\",\"key\":\"k\",\"title\":\"W\","
             "\"adjuster\":\"screw\",\"move\":-0.13,\"amount\":{\"value\":-0.25,\"unit\":\"turn\",\"what\":\"W\"}},"
             "\"value\":{\"done\":true}}");
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"adjust\",\"key\":\"k\",\"title\":\"W\","
             "\"adjuster\":\"W\",\"move\":-0.13},\"value\":{\"done\":false,\"why\":\"W\"}}");
  job_add(j, "{\"kind\":\"answer\",\"time\":\"W\",\"ask\":{\"kind\":\"reading\",\"key\":\"k\",\"title\":\"W\",\"bore\":"
             "\"1\",\"pass\":2,\"condition\":\"W\"},\"value\":{\"unreadable\":\"W\"},\"unit\":\"W\"}");
  job_add(j,
          "{\"kind\":\"answer\",\"time\":\"2026-03-04T06:00:00.000+01:00\",\"ask\":{\"kind\":\"reading\",\"key\":"
          "\"k\",\"title\":\"W\",\"bore\":\"2\",\"pass\":2,\"condition\":\"idle\"},\"value\":55.5,\"unit\":\"div\"}");
  job_add(j, "{\"kind\":\"withdraw\",\"to\":7,\"time\":\"W\"}");
  job_verdict(j, job_twin_bores, 2, 6, 0.015, "even");
}

static inline void job_finish(job *j)
{
  job_add(j, "{\"kind\":\"end\",\"time\":\"W\",\"outcome\":\"even\",\"claim\":{\"tolerance\":0.0412,\"risk\":0.05},"
             "\"summary\":\"W\"}");
}

static const char job_hostile[] = "</title></style><script>alert(1)</script>\" onload='x' <img src=x onerror=1>&lt;"
                                  "\xe2\x80\xae\x1b[31m\x07";

/* The bytes of the journal, which is closed and taken away. */
static inline ptrdiff_t job_read(job *j, char *bytes, size_t size)
{
  eb_journal_close(j->journal);
  j->journal = NULL;
  int file = j->host->files.open(j->host->context, "job", 0, 0); /* O_RDONLY */
  ptrdiff_t read = j->host->files.read(j->host->context, file, bytes, size);
  j->host->files.close(j->host->context, file);
  assert_int_equal(j->host->files.remove(j->host->context, "job"), 0);
  return read;
}

static inline void job_rewrite(job *j, const char *bytes, size_t size)
{
  int file = j->host->files.open(j->host->context, "job", 1 | 0100, 0600); /* O_WRONLY | O_CREAT */
  assert_int_equal(j->host->files.write(j->host->context, file, bytes, size), size);
  j->host->files.close(j->host->context, file);
}

/* Changes a byte so far from the end. */
static inline void job_damage(job *j, size_t from_end)
{
  static char bytes[1 << 16];
  ptrdiff_t size = job_read(j, bytes, sizeof bytes);
  assert_true(size > (ptrdiff_t)from_end);
  char *at = bytes + size - from_end;
  *at = *at == 'a' ? 'b' : 'a';
  job_rewrite(j, bytes, (size_t)size);
}

/* Cuts bytes off the end, as a power cut in the middle of a record does. */
static inline void job_tear(job *j, size_t bytes_off)
{
  static char bytes[1 << 16];
  ptrdiff_t size = job_read(j, bytes, sizeof bytes);
  assert_true(size > (ptrdiff_t)bytes_off);
  job_rewrite(j, bytes, (size_t)size - bytes_off);
}

#endif
