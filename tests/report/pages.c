/* Writes the pages that the browser test opens: whole simulated jobs, and invented ones at the edges.
 *   report_pages FOLDER */
#include "play.h"

#include "report/job.h"

#include <stdlib.h>

static const char *folder;
static char nothing[] = "{}";

static void write_file(const char *name, const eb_text *page)
{
  char path[1024];
  snprintf(path, sizeof path, "%s/%s.html", folder, name);
  FILE *file = fopen(path, "wb");
  if (file == NULL)
    fail_msg("%s cannot be written", path);
  assert_int_equal(fwrite(page->bytes, 1, page->size, file), page->size);
  assert_int_equal(fclose(file), 0);
}

static void write_page(const char *name, const eb_host *host, const char *path)
{
  eb_account account;
  eb_error error;
  eb_text page;
  const eb_report_options options = {.form = EB_REPORT_PAGE};
  assert_int_equal(eb_account_read(host, path, &account, &error), EB_OK);
  eb_text_init(&page, eb_host_system());
  assert_int_equal(eb_report_write(&account, &options, &page, &error), EB_OK);
  write_file(name, &page);
  eb_text_clear(&page);
  eb_account_clear(&account);
}

typedef struct simulated {
  const char *name, *procedure, *inputs;
  uint64_t seed;
  size_t steps; /* then it is left; 0: to its end */
  bool stopped; /* there it is stopped */
  eb_fault fault;
  double strength;
} simulated;

static const simulated jobs[] = {
    {.name = "v8", .procedure = "v8-coupled", .seed = 17, .inputs = "{\"engine\":\"red V8\"}"},
    {.name = "v12", .procedure = "v12-coupled", .seed = 4, .inputs = "{\"engine\":\"twelve\"}"},
    {.name = "twin", .procedure = "twin-link", .seed = 3},
    {.name = "baseline", .procedure = "cold-baseline", .seed = 3},
    {.name = "screws", .procedure = "stop-screws", .seed = 5},
    {.name = "dead", .procedure = "v8-coupled", .seed = 5, .fault = EB_FAULT_DEAD, .strength = 1},
    {.name = "just-begun", .procedure = "inline-six", .seed = 2, .steps = 4},
    {.name = "unfinished", .procedure = "v8-coupled", .seed = 9, .steps = 60},
    {.name = "stopped", .procedure = "inline-six", .seed = 8, .steps = 60, .stopped = true},
};

static void take(play *p, const char *line)
{
  eb_error error;
  assert_int_equal(eb_session_take(p->session, line, strlen(line), &error), EB_OK);
  play_hear(p);
}

/* A job with notes, and with an answer that is taken back and given again. */
static void play_job(const simulated *of)
{
  play p = {0};
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count), *procedure = NULL;
  for (size_t i = 0; i < count; i++)
    if (strncmp(sources[i].name, of->procedure, strlen(of->procedure)) == 0)
      procedure = &sources[i];
  eb_bay_options options = eb_bay_options_usual();
  options.seed = of->seed;
  if (of->strength > 0)
    options.fault[of->fault] = of->strength;
  eb_json *inputs = parse(of->inputs == NULL ? nothing : of->inputs);
  p.inputs = inputs;
  play_begin(&p, procedure, &options);
  for (size_t i = 1; eb_session_where(p.session) == EB_SESSION_ASKS && (of->steps == 0 || i <= of->steps); i++) {
    if (i == 30)
      take(&p,
           "{\"do\":\"note\",\"text\":\"The return spring of bore 3 is weak: to be replaced at the next service.\"}");
    if (i == 40)
      take(&p, "{\"do\":\"back\"}");
    play_step(&p);
  }
  if (of->stopped)
    take(&p, "{\"do\":\"stop\",\"why\":\"The customer came for it.\"}");
  eb_session_pause(p.session, NULL);
  write_page(of->name, eb_scratch_host(p.scratch), "play.jsonl");
  play_end(&p);
  eb_json_destroy(inputs);
}

int main(int count, char **arguments)
{
  if (count != 2) {
    fprintf(stderr, "usage: report_pages FOLDER\n");
    return 2;
  }
  folder = arguments[1];
  for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++)
    play_job(&jobs[i]);
  return 0;
}
