/* Writes the pages that the browser test opens, and the same jobs as JSON: whole simulated jobs, and invented ones at
 * the edges. report_pages FOLDER */
#include "report/simulated.h"

#include "evenbore/history.h"

static const char *folder;

static void write_file(const char *name, const char *ending, const eb_text *page)
{
  char path[1024];
  snprintf(path, sizeof path, "%s/%s.%s", folder, name, ending);
  FILE *file = fopen(path, "wb");
  if (file == NULL)
    fail_msg("%s cannot be written", path);
  assert_int_equal(fwrite(page->bytes, 1, page->size, file), page->size);
  assert_int_equal(fclose(file), 0);
}

/* As a page and as JSON. */
static void write_page(const char *name, const eb_host *host, const char *path, const char *reader)
{
  static const char *const endings[] = {[EB_REPORT_PAGE] = "html", [EB_REPORT_JSON] = "json"};
  eb_account account;
  eb_error error;
  assert_int_equal(eb_account_read(host, path, &account, &error), EB_OK);
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    if (endings[form] == NULL)
      continue;
    eb_text text;
    const eb_report_options options = {.form = (eb_report_form)form, .program = reader};
    eb_text_init(&text, eb_host_system());
    assert_int_equal(eb_report_write(&account, &options, &text, &error), EB_OK);
    write_file(name, endings[form], &text);
    eb_text_clear(&text);
  }
  eb_account_clear(&account);
}

static const simulated jobs[] = {
    {.name = "v8",
     .procedure = "v8-coupled",
     .seed = 17,
     .inputs = "{\"engine\":\"red V8\",\"practice\":{\"seed\":17}}"},
    {.name = "v12", .procedure = "v12-coupled", .seed = 4, .inputs = "{\"engine\":\"twelve\"}"},
    {.name = "twin", .procedure = "twin-link", .seed = 3},
    {.name = "baseline", .procedure = "cold-baseline", .seed = 3},
    {.name = "screws", .procedure = "stop-screws", .seed = 5},
    {.name = "dead", .procedure = "v8-coupled", .seed = 5, .fault = EB_FAULT_DEAD, .strength = 1},
    {.name = "just-begun", .procedure = "inline-six", .seed = 2, .steps = 4},
    {.name = "unfinished", .procedure = "v8-coupled", .seed = 9, .steps = 60},
    {.name = "stopped", .procedure = "inline-six", .seed = 8, .steps = 60, .stopped = true},
};

static void write_job(const simulated *of)
{
  play p;
  simulated_play(&p, of);
  write_page(of->name, eb_scratch_host(p.scratch), "play.jsonl", NULL);
  play_end(&p);
}

/* An invented job on an engine of one to four rows, each bore off by as much. */
static void invent(const char *name, const char *layout, const char *form, int bores, double value, double deviation)
{
  static char names[24][32];
  job j;
  for (int i = 0; i < bores; i++)
    snprintf(names[i], sizeof names[i], form, i + 1);
  job_begin(&j, "kg/h", layout);
  job_verdict(&j, names, bores, value, deviation, "uneven");
  job_verdict(&j, names, bores, value, deviation / 3, "left out");
  job_finish(&j);
  write_page(name, j.host, "job", NULL);
  job_end(&j);
}

static void write_edges(void)
{
  static const char long_words[] =
      "Anextraordinarilylongwordwithoutanyblankinitthatnobodywouldeverwriteonpurposebutsome"
      "bodywill and then some usual words behind it, to see where lines are broken";
  char row[1024], layout[2048];
  size_t used = 0;
  for (int i = 1; i <= 24; i++)
    used += (size_t)snprintf(row + used, sizeof row - used, "%s\"bore %02d of the row\"", i == 1 ? "" : ",", i);
  snprintf(layout, sizeof layout, "{\"rows\":[[%s]],\"adjusters\":[]}", row);
  invent("bores-24-long-names", layout, "bore %02d of the row", 24, 12345.67, 9.99);
  invent("bores-2-small", job_twin, "%d", 2, 0.001, 0.9);
  job j;
  job_play(&j, long_words);
  job_finish(&j);
  write_page("long-words", j.host, "job", NULL);
  job_end(&j);
  job_play(&j, job_hostile);
  job_finish(&j);
  write_page("hostile", j.host, "job", job_hostile);
  write_page("foreign", j.host, "job", "evenbore 0.0.0");
  job_damage(&j, 20);
  write_page("damaged", j.host, "job", NULL);
  job_end(&j);
  job_play(&j, "plain");
  job_tear(&j, 10);
  write_page("torn", j.host, "job", NULL);
  job_end(&j);
}

/* The history of an engine: `count` jobs, each of `texts`; and the last two compared. */
static void write_history(const char *name, const char *engine, const eb_account *accounts, size_t count)
{
  static const char *const endings[] = {[EB_REPORT_PAGE] = "html", [EB_REPORT_JSON] = "json"};
  eb_error error;
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    char file[100], session[100];
    const eb_report_options options = {.form = (eb_report_form)form};
    eb_history *history = NULL;
    eb_text text;
    if (endings[form] == NULL)
      continue;
    assert_int_equal(eb_history_create(eb_host_system(), engine, &history, &error), EB_OK);
    for (size_t i = 0; i < count; i++) {
      snprintf(session, sizeof session, "%.60s-%zu", engine, i + 1);
      assert_int_equal(eb_history_add(history, session, &accounts[i], &error), EB_OK);
    }
    assert_int_equal(eb_history_leave_out(history, engine, engine, &error), EB_OK);
    eb_text_init(&text, eb_host_system());
    assert_int_equal(eb_history_write(history, &options, &text, &error), EB_OK);
    snprintf(file, sizeof file, "history-%s", name);
    write_file(file, endings[form], &text);
    eb_text_clear(&text);
    eb_history_destroy(history);
    if (count < 2)
      continue;
    eb_text_init(&text, eb_host_system());
    if (eb_compare_write(engine, &accounts[0], engine, &accounts[1], &options, &text, &error) != EB_OK)
      fail_msg("%s: %s", engine, error.message);
    snprintf(file, sizeof file, "comparison-%s", name);
    write_file(file, endings[form], &text);
    eb_text_clear(&text);
  }
}

enum { HISTORY_MOST = 30 };

static void write_simulated_history(const char *name, const char *procedure, uint64_t seed, size_t count)
{
  eb_account accounts[HISTORY_MOST];
  play plays[HISTORY_MOST];
  for (size_t i = 0; i < count; i++) {
    eb_error error;
    const simulated of = {.procedure = procedure, .seed = seed + i, .steps = i == 3 ? 60 : 0};
    simulated_play(&plays[i], &of);
    assert_int_equal(eb_account_read(eb_scratch_host(plays[i].scratch), "play.jsonl", &accounts[i], &error), EB_OK);
  }
  write_history(name, name, accounts, count);
  for (size_t i = 0; i < count; i++) {
    eb_account_clear(&accounts[i]);
    play_end(&plays[i]);
  }
}

/* Every text is `words`. */
static void write_invented_history(const char *name, const char *words, size_t count)
{
  eb_account accounts[HISTORY_MOST];
  job invented[HISTORY_MOST];
  for (size_t i = 0; i < count; i++) {
    char session[64];
    eb_error error;
    job_play(&invented[i], words);
    snprintf(session, sizeof session, "{\"kind\":\"note\",\"n\":%zu}", i); /* so that no two are the same */
    job_add(&invented[i], session);
    job_finish(&invented[i]);
    assert_int_equal(eb_account_read(invented[i].host, "job", &accounts[i], &error), EB_OK);
  }
  write_history(name, words, accounts, count);
  for (size_t i = 0; i < count; i++) {
    eb_account_clear(&accounts[i]);
    job_end(&invented[i]);
  }
}

static void write_histories(void)
{
  write_simulated_history("v8", "v8-coupled", 31, 5);
  write_simulated_history("v12", "v12-coupled", 6, 2);
  write_simulated_history("one", "inline-six", 31, 1);
  write_invented_history("hostile", job_hostile, 2);
  write_invented_history("long", "an-engine-of-a-name-without-any-blank-in-it-that-goes-on-and-on-for-ever", 30);
}

int main(int count, char **arguments)
{
  if (count != 2) {
    fprintf(stderr, "usage: report_pages FOLDER\n");
    return 2;
  }
  folder = arguments[1];
  for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++)
    write_job(&jobs[i]);
  write_edges();
  write_histories();
  return 0;
}
