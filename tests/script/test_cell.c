/* Cells: work and runs in one locked-in process; whatever ends one costs an answer. */
#include "rig.h"

#include "evenbore/digest.h"
#include "evenbore/json.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MEMORY = 8 << 20, TEXT_SIZE = EB_PLACE_SIZE + 700 };

typedef struct told {
  eb_status status;
  char text[TEXT_SIZE];
} told;

typedef void *beginning(void *context, const eb_host *host, const eb_runner *runner);
typedef void work(void *context, const eb_host *host, const eb_runner *runner, const void *question, void *answer);

static eb_script_child *child_with(long answer_ms)
{
  eb_script_child *child = NULL;
  eb_script_child_options options = {.answer_ms = answer_ms};
  assert_int_equal(eb_script_child_create(eb_host_system(), &options, &child, NULL), EB_OK);
  return child;
}

static eb_script_cell *cell_of(const eb_script_child *child, beginning *begin, work *answer, void *context)
{
  eb_error error;
  eb_script_cell *cell = NULL;
  eb_script_cell_work order = {.name = "v8.lua",
                               .memory = MEMORY,
                               .question_size = sizeof(int),
                               .answer_size = sizeof(told),
                               .begin = begin,
                               .answer = answer,
                               .context = context};
  if (eb_script_cell_open(child, &order, &cell, &error) != EB_OK)
    fail_msg("%s", error.message);
  return cell;
}

static told ask(eb_script_cell *cell, int question)
{
  told t;
  eb_error error;
  if (eb_script_cell_ask(cell, &question, &t, &error) != EB_OK)
    fail_msg("%s", error.message);
  return t;
}

/* As far as these replies lead: the digest of all that was sent, or what went wrong and where. */
static eb_status play(const eb_host *host, const eb_runner *runner, const eb_source *main, told *t)
{
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_procedure procedure;
  eb_error error;
  request_text *request = host->allocate(host->context, NULL, sizeof *request);
  char chain[EB_DIGEST_SIZE] = "";
  static const char *const replies[] = {NULL, "{}", "{\"inputs\":{}}", "{\"value\":\"a\"}"};
  t->status = runner->start(runner->context, host, main, library, count, &procedure, &error);
  if (t->status != EB_OK) {
    snprintf(t->text, TEXT_SIZE, "%s: %s", error.place, error.message);
    return t->status;
  }
  for (size_t i = 0; i < sizeof replies / sizeof replies[0] && t->status == EB_OK; i++) {
    t->status = text_exchange(&procedure, replies[i], request, &error);
    if (t->status == EB_OK)
      eb_digest_chain(chain, request->text, strlen(request->text), chain);
  }
  if (t->status == EB_OK)
    snprintf(t->text, TEXT_SIZE, "%s", chain);
  else
    snprintf(t->text, TEXT_SIZE, "%s: %s", error.place, error.message);
  procedure.destroy(procedure.self);
  host->allocate(host->context, request, 0);
  return t->status;
}

static eb_source source_numbered(int number)
{
  static const char loop[] = "return procedure { id = 'x', version = '1', api = 1, title = 'X',\n"
                             "  layout = { rows = { { 1, 2 } }, adjusters = { screw { 'screw', { 1 }, { 2 } } } },\n"
                             "  run = function(job) while true do end end }\n";
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  return number < (int)count ? sources[number] : (eb_source){.name = "loop.lua", .text = loop, .size = sizeof loop - 1};
}

static void play_numbered(void *context, const eb_host *host, const eb_runner *runner, const void *question,
                          void *answer)
{
  (void)context;
  eb_source source = source_numbered(*(const int *)question);
  play(host, runner, &source, answer);
}

/* Each run begins as if it were the first one, whatever was run before it. */
static void runs_in_a_cell_are_those_of_a_thread(void **state)
{
  (void)state;
  size_t count;
  eb_script_builtin_procedures(&count);
  eb_runner here = eb_script_runner(NULL);
  eb_script_child *child = child_with(0);
  eb_script_cell *cell = cell_of(child, NULL, play_numbered, NULL);
  for (int round = 0; round < 2; round++)
    for (int number = 0; number <= (int)count; number++) {
      told own = {.status = EB_OK}, theirs = ask(cell, number);
      eb_source source = source_numbered(number);
      play(eb_host_system(), &here, &source, &own);
      if (theirs.status != own.status)
        fail_msg("%s: %s", source.name, theirs.text);
      assert_string_equal(theirs.text, own.text);
      assert_true((own.status == EB_BUDGET) == (number == (int)count));
    }
  eb_script_cell_close(cell);
  eb_script_child_destroy(child);
}

static void start_two(void *context, const eb_host *host, const eb_runner *runner, const void *question, void *answer)
{
  (void)context;
  (void)question;
  told *t = answer, second = {.status = EB_OK};
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_source main = source_numbered(0);
  eb_procedure procedure;
  t->status = runner->start(runner->context, host, &main, library, count, &procedure, NULL);
  play(host, runner, &main, &second);
  memcpy(t->text, second.text, sizeof t->text);
  procedure.destroy(procedure.self);
  if (t->status == EB_OK)
    t->status = play(host, runner, &main, &second);
}

static void one_run_at_a_time(void **state)
{
  (void)state;
  eb_script_child *child = child_with(0);
  eb_script_cell *cell = cell_of(child, NULL, start_two, NULL);
  told t = ask(cell, 0);
  assert_int_equal(t.status, EB_OK);
  assert_non_null(strstr(t.text, "only one procedure"));
  eb_script_cell_close(cell);
  eb_script_child_destroy(child);
}

/* Takes all memory there is, gives none back, and says how much it was, in KiB. */
static void take_all(void *context, const eb_host *host, const eb_runner *runner, const void *question, void *answer)
{
  (void)context, (void)runner, (void)question;
  int kib = 0;
  while (host->allocate(host->context, NULL, 1000) != NULL)
    kib++;
  while (host->allocate(host->context, NULL, 1) != NULL)
    continue;
  bool tree = eb_json_object() != NULL;
  snprintf(((told *)answer)->text, TEXT_SIZE, "%d %s", kib, tree ? "and a tree" : "and no tree");
}

static void memory_is_bounded_and_new_for_each_answer(void **state)
{
  (void)state;
  eb_script_child *child = child_with(0);
  eb_script_cell *cell = cell_of(child, NULL, take_all, NULL);
  told first = ask(cell, 0), second = ask(cell, 0);
  assert_true(atoi(first.text) > MEMORY / 1024 / 2 && atoi(first.text) < MEMORY / 1000);
  assert_non_null(strstr(first.text, "and no tree"));
  assert_string_equal(first.text, second.text);
  eb_script_cell_close(cell);
  eb_script_child_destroy(child);
}

/* A run that has declared itself. */
typedef struct begun {
  eb_procedure procedure;
  int answers;
} begun;

static void *begin_run(void *context, const eb_host *host, const eb_runner *runner)
{
  (void)context;
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_source main = source_numbered(0);
  begun *b = host->allocate(host->context, NULL, sizeof *b);
  request_text *request = host->allocate(host->context, NULL, sizeof *request);
  if (runner->start(runner->context, host, &main, library, count, &b->procedure, NULL) != EB_OK ||
      text_exchange(&b->procedure, NULL, request, NULL) != EB_OK)
    return NULL;
  b->answers = 0;
  return b;
}

/* Goes on with it, and leaves it in another state than it was in. */
static void go_on(void *context, const eb_host *host, const eb_runner *runner, const void *question, void *answer)
{
  (void)runner;
  told *t = answer;
  begun *b = context;
  static request_text request;
  t->status = text_exchange(&b->procedure, "{}", &request, NULL);
  snprintf(t->text, TEXT_SIZE, "%d: %.200s", ++b->answers, request.text);
  if (*(const int *)question != 0)
    b->procedure.destroy(b->procedure.self);
  while (host->allocate(host->context, NULL, 1000) != NULL)
    continue;
}

static void each_answer_goes_on_from_the_beginning(void **state)
{
  (void)state;
  eb_script_child *child = child_with(0);
  eb_script_cell *cell = cell_of(child, begin_run, go_on, NULL);
  told first = ask(cell, 0);
  assert_int_equal(first.status, EB_OK);
  assert_memory_equal(first.text, "1: {", 4);
  for (int i = 0; i < 4; i++) {
    told next = ask(cell, i % 2);
    assert_int_equal(next.status, EB_OK);
    assert_string_equal(next.text, first.text);
  }
  eb_script_cell_close(cell);
  eb_script_child_destroy(child);
}

/* What work might do that has been taken over. */
static void misbehave(void *context, const eb_host *host, const eb_runner *runner, const void *question, void *answer)
{
  (void)host, (void)runner;
  snprintf(((told *)answer)->text, TEXT_SIZE, "well");
  switch (*(const int *)question) {
  case 1:
    signal(SIGSEGV, SIG_DFL);
    raise(SIGSEGV);
    break;
  case 2: open("/etc/passwd", O_RDONLY); break;
  case 3: fork(); break;
  case 4:
    for (;;)
      continue;
  case 5: _exit(0);
  case 6: *(volatile int *)context = 7; break;
  default: break;
  }
}

static void whatever_ends_a_cell_costs_an_answer(void **state)
{
  (void)state;
  static const struct {
    eb_status status;
    const char *message;
  } ends[] = {{EB_OK, ""},
              {EB_SCRIPT, "reached for the machine"}, /* SIGSEGV is blocked: to send it is no call that is left */
              {EB_SCRIPT, "reached for the machine"},
              {EB_SCRIPT, "reached for the machine"},
              {EB_BUDGET, "no word from the procedure for 300 ms"},
              {EB_SCRIPT, "ended without a word"},
              {EB_OK, ""}};
  int mine = 3;
  eb_script_child *child = child_with(300);
  for (int i = 0; i < (int)(sizeof ends / sizeof ends[0]); i++) {
    eb_error error = {.message = ""};
    told t = {.text = "as it was"};
    eb_script_cell *cell = cell_of(child, NULL, misbehave, &mine);
    assert_int_equal(eb_script_cell_ask(cell, &i, &t, &error), ends[i].status);
    assert_non_null(strstr(error.message, ends[i].message));
    assert_string_equal(t.text, ends[i].status == EB_OK ? "well" : "as it was");
    eb_script_cell_close(cell);
  }
  assert_int_equal(mine, 3);
  eb_script_child_destroy(child);
  assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* none is left */
  assert_int_equal(errno, ECHILD);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(runs_in_a_cell_are_those_of_a_thread),
      cmocka_unit_test(one_run_at_a_time),
      cmocka_unit_test(each_answer_goes_on_from_the_beginning),
      cmocka_unit_test(memory_is_bounded_and_new_for_each_answer),
      cmocka_unit_test(whatever_ends_a_cell_costs_an_answer),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
