/* Procedures that mean harm, each played from its file to its end, in this thread and in a process of its own.
 *
 * A file tells in its first lines what it is, and how it ends: "-- budget: more than 5000000 steps" is a status and a
 * piece of the message.  Besides the statuses there are `ask` (it comes to a prompt that says so) and `end` (its job
 * ends so).  The message must name the line marked --<, or the file where no line is marked.  @9<text> stands for nine
 * times the text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/scratch.h"
#include "evenbore/script.h"
#include "evenbore/session.h"
#include "evenbore/text.h"

#include <dirent.h>
#include <malloc.h>
#include <sys/resource.h>
#include <sys/wait.h>

enum {
  FILES_MAX = 400,
  FILES_LEAST = 60,
  TEXT_MAX = 200000,
  PROMPTS_MAX = 60,
  WORK_S = 20,     /* far above the budget of 1.5 s, for sanitizers; far below a hang */
  MEMORY_MIB = 48, /* the 16 that Lua may hold, heads and rounding, sources and trees */
};

typedef struct hostile {
  char name[64];
  char text[TEXT_MAX];
  size_t size;
  char word[16]; /* a status, "ask" or "end" */
  char says[160];
  char place[80];
} hostile;

static eb_runner runner; /* of the group of tests that is run */

/* Memory of this process, but JSON trees. */
static size_t held_bytes;
static size_t most_bytes;

static void *counted(void *context, void *block, size_t size)
{
  size_t before = block == NULL ? 0 : malloc_usable_size(block);
  void *moved = eb_host_system()->allocate(context, block, size);
  if (moved == NULL && size > 0)
    return NULL;
  held_bytes = held_bytes - before + (moved == NULL ? 0 : malloc_usable_size(moved));
  most_bytes = held_bytes > most_bytes ? held_bytes : most_bytes;
  return moved;
}

static double used_s(int who)
{
  struct rusage used;
  getrusage(who, &used);
  return (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec) / 1e6;
}

static long resident_kib(int who)
{
  struct rusage used;
  getrusage(who, &used);
  return used.ru_maxrss;
}

static void expand(const char *from, size_t size, hostile *h)
{
  const char *end = from + size;
  while (from < end) {
    char *open = NULL;
    long times = *from == '@' ? strtol(from + 1, &open, 10) : 0;
    const char *close = times > 0 && *open == '<' ? memchr(open, '>', (size_t)(end - open)) : NULL;
    size_t piece = close == NULL ? 1 : (size_t)(close - open) - 1;
    for (long i = 0; i < (close == NULL ? 1 : times); i++, h->size += piece) {
      assert_true(h->size + piece < TEXT_MAX);
      memcpy(h->text + h->size, close == NULL ? from : open + 1, piece);
    }
    from = close == NULL ? from + 1 : close + 1;
  }
  h->text[h->size] = '\0';
}

static int line_of(const hostile *h, const char *at)
{
  int line = 1;
  for (const char *c = h->text; c < at; c++)
    line += *c == '\n';
  return line;
}

/* The second line that begins with "-- " in what may be no text at all. */
static void read_expectation(hostile *h)
{
  const char *at = memmem(h->text, h->size, "-- ", 3);
  at = at == NULL ? NULL : memmem(at + 3, h->size - (size_t)(at + 3 - h->text), "\n-- ", 4);
  if (at == NULL || sscanf(at, "\n-- %15[a-z-]: %159[^\n]", h->word, h->says) != 2)
    fail_msg("%s does not say how it ends", h->name);
  const char *mark = memmem(h->text, h->size, "--<", 3);
  snprintf(h->place, sizeof h->place, mark == NULL ? "%s" : "%s:%d", h->name, mark == NULL ? 0 : line_of(h, mark));
}

static void read_file(const char *name, hostile *h)
{
  static char bytes[TEXT_MAX];
  char path[512];
  memset(h, 0, sizeof *h);
  snprintf(h->name, sizeof h->name, "%s", name);
  snprintf(path, sizeof path, "%s/hostile/%s", EB_TESTS_FOLDER, name);
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  size_t size = fread(bytes, 1, sizeof bytes, file);
  fclose(file);
  expand(bytes, size, h);
  read_expectation(h);
}

/* How a play ended. */
typedef struct ending {
  char word[32];
  char message[1400];
  int answers;
} ending;

static void set_ending(ending *e, const char *word, const char *place, const char *message)
{
  snprintf(e->word, sizeof e->word, "%s", word);
  snprintf(e->message, sizeof e->message, "%s%s%s", place, place[0] == '\0' ? "" : ": ", message);
}

/* An answer that any ask takes; false where it does not matter any more. */
static bool answer(eb_session *session, const eb_json *ask, eb_error *error)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  char line[200];
  const char *value = "true";
  char made[120];
  if (strcmp(kind, "caution") == 0)
    snprintf(made, sizeof made, "\"%s\"", eb_json_get_string(ask, "code", ""));
  else if (strcmp(kind, "choose") == 0)
    snprintf(made, sizeof made, "\"%s\"", eb_json_get_string(eb_json_at(eb_json_get(ask, "options"), 0), "id", ""));
  else if (strcmp(kind, "number") == 0 || strcmp(kind, "reading") == 0)
    snprintf(made, sizeof made, "%.15g", eb_json_get_number(ask, "low", 1));
  else if (strcmp(kind, "adjust") == 0)
    snprintf(made, sizeof made, "{\"done\":true}");
  else
    snprintf(made, sizeof made, "%s", value);
  int size = snprintf(line, sizeof line, "{\"n\":%d,\"value\":%s}", (int)eb_json_get_number(ask, "n", 0), made);
  return eb_session_take(session, line, (size_t)size, error) == EB_OK;
}

static bool says(const eb_json *ask, const char *piece)
{
  return strstr(eb_json_get_string(ask, "text", ""), piece) != NULL;
}

/* All messages that wait.  A failure is told with its place, and that nothing is lost. */
static void hear(eb_session *session, ending *e)
{
  static const char safe[] = "; your answers are safe, the session can be resumed";
  const eb_json *message;
  while ((message = eb_session_next(session)) != NULL) {
    if (strcmp(eb_json_get_string(message, "type", ""), "end") != 0)
      continue;
    bool failed = strcmp(eb_json_get_string(message, "outcome", ""), "failed") == 0;
    set_ending(e, failed ? "failed" : "end", "", eb_json_get_string(message, "summary", ""));
    char *tail = strstr(e->message, safe);
    assert_true((tail != NULL) == failed);
    if (failed)
      *tail = '\0';
  }
}

/* From ask to ask, until it fails, ends, or comes to the prompt that is waited for. */
static void lead(eb_session *session, const hostile *h, ending *e)
{
  hear(session, e);
  while (eb_session_where(session) == EB_SESSION_ASKS) {
    const eb_json *ask = eb_session_ask(session);
    if (strcmp(h->word, "ask") == 0 && says(ask, h->says)) {
      set_ending(e, "ask", h->name, eb_json_get_string(ask, "text", ""));
      return;
    }
    eb_error error = {.status = EB_OK};
    bool went_on = answer(session, ask, &error);
    e->answers++;
    hear(session, e);
    if (went_on)
      continue;
    snprintf(e->word, sizeof e->word, "%s", eb_status_word(error.status));
    assert_non_null(strstr(e->message, error.message));
  }
}

static void start(const eb_host *host, const hostile *h, ending *e)
{
  eb_session *session = NULL;
  eb_error error = {.status = EB_OK};
  eb_source main = {.name = h->name, .text = h->text, .size = h->size};
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_session_options options = {.id = "h",
                                .path = "h.jsonl",
                                .program = "test",
                                .runner = &runner,
                                .main = &main,
                                .library = library,
                                .library_count = count,
                                .prompts_max = PROMPTS_MAX};
  eb_status status = eb_session_start(host, &options, &session, &error);
  if (status != EB_OK) {
    set_ending(e, eb_status_word(status), error.place, error.message);
    assert_int_equal(host->files.kind(host->context, "h.jsonl"), EB_PATH_NOTHING);
    return;
  }
  lead(session, h, e);
  eb_session_destroy(session);
}

static int answers_in(const eb_host *host)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_read(host, "h.jsonl", &journal, &recovery, NULL), EB_OK);
  assert_int_equal(recovery.damaged_record, 0);
  assert_int_equal(recovery.torn_bytes, 0);
  int answers = 0;
  for (size_t i = 0; i < eb_journal_count(journal); i++)
    answers += strcmp(eb_json_get_string(eb_journal_record(journal, i), "kind", ""), "answer") == 0;
  eb_journal_close(journal);
  return answers;
}

static bool is_one_clear_line(const char *message)
{
  bool clear = eb_utf8_valid(message, strlen(message), NULL) && strlen(message) < 800;
  for (size_t at = 0, step; clear && message[at] != '\0'; at += step) {
    uint32_t c = 0;
    step = eb_utf8_decode(message + at, strlen(message + at), &c);
    clear = !eb_char_unprintable(c);
  }
  return clear;
}

static bool is_as_told(const hostile *h, const ending *e)
{
  bool fails = strcmp(h->word, "ask") != 0 && strcmp(h->word, "end") != 0;
  return strcmp(h->word, e->word) == 0 && strstr(e->message, h->says) != NULL && is_one_clear_line(e->message) &&
         (!fails || strstr(e->message, h->place) != NULL);
}

/* Taken up again it comes to the same end, over the same answers; which budget ends first may differ.  The status of a
 * failure before the first ask is only known from there. */
static bool comes_again(const eb_host *host, const hostile *h, ending *first)
{
  eb_session *session = NULL;
  eb_recovery recovery;
  eb_error error = {.status = EB_OK};
  ending again = {.answers = 0};
  eb_status status = eb_session_resume(host, "h.jsonl", "test", &runner, &session, &recovery, &error);
  if (status != EB_OK) {
    set_ending(&again, eb_status_word(status), error.place, error.message);
  } else {
    lead(session, h, &again);
    eb_session_destroy(session);
  }
  bool over = strcmp(first->word, "end") == 0 && status == EB_ENDED;
  if (strcmp(first->word, "failed") == 0)
    memcpy(first->word, again.word, sizeof first->word);
  bool same = strcmp(first->word, again.word) == 0 &&
              (strcmp(first->word, "budget") == 0 ? is_as_told(h, &again) : strcmp(first->message, again.message) == 0);
  if (!over && !same)
    print_error("%s: resumed it ends by %s: %s\n", h->name, again.word, again.message);
  return over || same;
}

static bool holds(const hostile *h)
{
  eb_scratch *scratch = NULL;
  assert_int_equal(eb_scratch_create(eb_host_system(), &scratch, NULL), EB_OK);
  eb_host host = *eb_scratch_host(scratch);
  host.allocate = counted;
  held_bytes = most_bytes = 0;
  ending e = {.answers = 0};
  double begun_s = used_s(RUSAGE_SELF) + used_s(RUSAGE_CHILDREN);
  start(&host, h, &e);
  double taken_s = used_s(RUSAGE_SELF) + used_s(RUSAGE_CHILDREN) - begun_s;
  bool good = taken_s < WORK_S && most_bytes < (size_t)MEMORY_MIB << 20 && held_bytes == 0;
  if (host.files.kind(host.context, "h.jsonl") == EB_PATH_FILE) {
    assert_int_equal(answers_in(&host), e.answers);
    good = comes_again(&host, h, &e) && good;
  }
  good = is_as_told(h, &e) && good;
  print_message("%-28s %6.3f s %5.1f MiB  %s %s\n", h->name, taken_s, (double)most_bytes / 1048576, e.word, e.message);
  if (!good)
    print_error("%s: wanted %s at %s: %s\n", h->name, h->word, h->place, h->says);
  assert_int_equal(held_bytes, 0);
  eb_scratch_destroy(scratch);
  return good;
}

static int by_name(const void *a, const void *b)
{
  return strcmp(a, b);
}

static int list(char names[FILES_MAX][64])
{
  DIR *folder = opendir(EB_TESTS_FOLDER "/hostile");
  assert_non_null(folder);
  int count = 0;
  for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
    size_t size = strlen(entry->d_name);
    if (size < 5 || size > 63 || strcmp(entry->d_name + size - 4, ".lua") != 0)
      continue;
    assert_true(count < FILES_MAX);
    memcpy(names[count++], entry->d_name, size + 1);
  }
  closedir(folder);
  qsort(names, (size_t)count, 64, by_name);
  return count;
}

static void all_end_as_told(void **state)
{
  (void)state;
  static char names[FILES_MAX][64];
  static hostile h;
  int count = list(names);
  int broken = 0;
  assert_true(count >= FILES_LEAST);
  long before_kib = resident_kib(RUSAGE_SELF);
  const char *only = getenv("HOSTILE");
  for (int i = 0; i < count; i++) {
    if (only != NULL && strstr(names[i], only) == NULL)
      continue;
    read_file(names[i], &h);
    broken += !holds(&h);
  }
  long child_kib = resident_kib(RUSAGE_CHILDREN);
  print_message("%d files, %d broken; a process of a run held %ld MiB at most, this one %ld before\n", count, broken,
                child_kib / 1024, before_kib / 1024);
  assert_int_equal(broken, 0);
#ifndef __SANITIZE_ADDRESS__ /* which keeps memory of its own beside */
  assert_true(child_kib < before_kib + MEMORY_MIB * 1024L);
#endif
}

static int run_here(void **state)
{
  (void)state;
  runner = eb_script_runner(NULL);
  return 0;
}

static int run_in_children(void **state)
{
  eb_script_child *child = NULL;
  if (eb_script_child_create(eb_host_system(), &(eb_script_child_options){0}, &child, NULL) != EB_OK ||
      !eb_script_child_is_filtered(child))
    return -1;
  *state = child;
  runner = eb_script_child_runner(child);
  return 0;
}

static int end_children(void **state)
{
  eb_script_child_destroy(*state);
  return waitpid(-1, NULL, WNOHANG) == -1 ? 0 : -1; /* none is left */
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_end_as_told),
  };
  /* While this process is still small: each child begins as a copy of it. */
  int failed = cmocka_run_group_tests_name("in a process of its own", tests, run_in_children, end_children);
  return failed + cmocka_run_group_tests_name("in this thread", tests, run_here, NULL);
}
