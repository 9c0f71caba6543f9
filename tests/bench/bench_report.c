/* The report of one job, against a bare read of the same journal's bytes.
 *
 * The job is made up: ten thousand answers, of which each tenth is a fact and each hundredth a move, a verdict behind
 * each twenty-fifth, and a hundred that were taken back.  Both sides are measured in time of the processor. */
#include "turns.h"

#include "evenbore/report.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void die(const char *what, const eb_error *error)
{
  fprintf(stderr, "bench_report: %s: %s\n", what, error->message);
  exit(1);
}

static void append(eb_journal *journal, const char *text)
{
  eb_json *record = NULL;
  eb_error error;
  if (eb_json_parse(text, strlen(text), &record, &error) != EB_OK ||
      eb_journal_append(journal, record, false, &error) != EB_OK)
    die("a record", &error);
}

static const char *time_of(int n, char text[40])
{
  snprintf(text, 40, "2026-03-04T%02d:%02d:%02d.000+01:00", n / 3600 % 24, n / 60 % 60, n % 60);
  return text;
}

static void add_answer(eb_journal *journal, int n)
{
  char line[700], time[40];
  const char *ask = n % 100 == 0  ? "\"kind\":\"adjust\",\"adjuster\":\"screw\",\"move\":0.02"
                    : n % 10 == 0 ? "\"kind\":\"number\""
                                  : "\"kind\":\"reading\",\"bore\":\"1\",\"pass\":1,\"condition\":\"idle\"";
  snprintf(line, sizeof line,
           "{\"kind\":\"answer\",\"time\":\"%s\",\"n\":%d,\"ask\":{%s,\"key\":\"k\",\"title\":\"Question %d\",\"text\":"
           "\"What does it read?\"},\"value\":%s,\"unit\":\"div\"}",
           time_of(n, time), n, ask, n % 100 / 10, n % 100 == 0 ? "{\"done\":true}" : "6.25");
  append(journal, line);
}

static void add_verdict(eb_journal *journal)
{
  append(
      journal,
      "{\"kind\":\"told\",\"message\":{\"type\":\"tell\",\"kind\":\"verdict\",\"text\":\"Unsure.\",\"verdict\":{"
      "\"word\":\"unsure\",\"tolerance\":0.05,\"risk\":0.05,\"claim\":0.08,\"spread\":0.03,\"worst\":\"1\","
      "\"condition\":\"idle\",\"contrasts\":[{\"adjuster\":\"screw\",\"level\":\"side\",\"value\":0.06,\"doubt\":0.02}"
      "],\"bores\":{\"1\":{\"value\":6.25,\"deviation\":0.03,\"doubt\":0.01,\"word\":\"unsure\"},\"2\":{\"value\":6,"
      "\"deviation\":-0.03,\"doubt\":0.01,\"word\":\"unsure\"}}}}}");
}

static void make_journal(const eb_host *host, const char *path, int answers)
{
  static const char open[] =
      "{\"time\":\"2026-03-04T05:06:07.089+01:00\",\"session\":\"bench\",\"program\":\"bench\",\"procedure\":{\"id\":"
      "\"bench\",\"title\":\"Bench\",\"version\":\"1.0.0\",\"name\":\"bench.lua\",\"digest\":\"none\"},\"declare\":{"
      "\"layout\":{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\",\"sides\":[[\"1\"],"
      "[\"2\"]]}]}},\"gauge\":{\"low\":1,\"high\":30,\"step\":0.25,\"best\":[1,10],\"repeatability\":0.02,\"unit\":"
      "\"div\",\"vent\":\"\"},\"tolerance\":0.05,\"risk\":0.05,\"inputs\":{}}";
  eb_json *first = NULL;
  eb_journal *journal;
  eb_error error;
  if (eb_json_parse(open, strlen(open), &first, &error) != EB_OK ||
      eb_journal_create(host, path, first, &journal, &error) != EB_OK)
    die("the journal", &error);
  eb_json_destroy(first);
  for (int n = 1; n <= answers; n++) {
    char line[80];
    add_answer(journal, n);
    if (n % 25 == 0)
      add_verdict(journal);
    snprintf(line, sizeof line, "{\"kind\":\"withdraw\",\"to\":%d}", n);
    if (n % 100 == 50)
      append(journal, line);
  }
  eb_journal_close(journal);
}

static double bare_read_s(const char *path)
{
  static char bytes[1 << 16];
  double begun = work_seconds_now();
  int file = open(path, O_RDONLY);
  while (read(file, bytes, sizeof bytes) > 0)
    ;
  close(file);
  return work_seconds_now() - begun;
}

static double report_s(const eb_host *host, const char *path, eb_report_form form, size_t *size)
{
  eb_account account;
  eb_text text;
  eb_error error;
  const eb_report_options options = {.form = form};
  double begun = work_seconds_now();
  eb_text_init(&text, host);
  if (eb_account_read(host, path, &account, &error) != EB_OK ||
      eb_report_write(&account, &options, &text, &error) != EB_OK)
    die("the report", &error);
  eb_account_clear(&account);
  double took = work_seconds_now() - begun;
  *size = text.size;
  eb_text_clear(&text);
  return took;
}

int main(void)
{
  static const char *const words[] = {"page", "text", "csv", "json"};
  static const int lengths[] = {300, 1000, 10000};
  const eb_host *host = eb_host_system();
  char folder[] = "/tmp/evenbore-bench-XXXXXX", path[64];
  if (mkdtemp(folder) == NULL)
    return 1;
  snprintf(path, sizeof path, "%s/job.jsonl", folder);
  for (size_t l = 0; l < sizeof lengths / sizeof lengths[0]; l++) {
    make_journal(host, path, lengths[l]);
    for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
      pair p;
      size_t size = 0;
      for (int round = 0; round < ROUNDS; round++)
        note(&p, round, report_s(host, path, (eb_report_form)form, &size), bare_read_s(path));
      printf("%6d answers as %-4s %8.1f ms   bare read %6.3f ms   ratio %7.0f   %zu kB\n", lengths[l], words[form],
             median(p.ours) * 1e3, median(p.bare) * 1e3, median(p.ratio), size / 1000);
    }
    unlink(path);
  }
  return rmdir(folder);
}
