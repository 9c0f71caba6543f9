/* Writes the pages that the browser test opens, and the same jobs as JSON: whole simulated jobs, and invented ones at
 * the edges. report_pages FOLDER */
#include "report/simulated.h"

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
  return 0;
}
