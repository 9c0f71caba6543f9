/* What it costs to list, to complete and to look back where a shop has 10 000 sessions, and to report a long one.
 *
 * The sessions are one job, played by a simulated tuner, under 10 000 names, times and engines, each with a chain of
 * digests of its own; the bare baseline opens the same files and reads the same beginnings and ends with plain read().
 * A report is held against reading the journal's lines as JSON.  Files are warm: everything was read once before.
 *   bench_lists [SESSIONS]    another number of them */
#include "evenbore/account.h"
#include "evenbore/bay.h"
#include "evenbore/report.h"
#include "evenbore/scratch.h"
#include "evenbore/script.h"
#include "evenbore/session.h"
#include "turns.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { SESSIONS = 10000, OF_ENGINE = 500, HEAD = 4096, TAIL = 2048, ANSWERS = 10000, LINES_MAX = 1 << 16 };

static void die(const char *what, const char *why)
{
  fprintf(stderr, "bench_lists: %s: %s\n", what, why);
  exit(1);
}

/* A journal's records as texts without their digests. */
typedef struct lines {
  char **text;
  size_t count;
} lines;

static void take_lines(lines *l, const eb_account *account)
{
  l->text = calloc(account->count, sizeof *l->text);
  for (l->count = 0; l->text != NULL && l->count < account->count; l->count++) {
    eb_json *copy = eb_json_copy(eb_account_record(account, l->count));
    eb_json_remove(copy, "h");
    l->text[l->count] = eb_json_text(copy);
    eb_json_destroy(copy);
  }
}

/* One job from its first ask to its end. */
static void play(lines *l)
{
  eb_scratch *scratch = NULL;
  eb_bay *bay = NULL;
  eb_session *session = NULL;
  eb_account account;
  eb_error error;
  size_t count = 0, procedures = 0;
  char line[EB_BAY_LINE_SIZE];
  const eb_source *library = eb_script_builtin_library(&count);
  const eb_source *procedure = eb_script_builtin_procedures(&procedures);
  while (strncmp(procedure->name, "v8-coupled", 10) != 0)
    procedure++;
  eb_runner runner = eb_script_runner(NULL);
  eb_bay_options usual = eb_bay_options_usual();
  eb_session_options options = {.id = "bench",
                                .path = "bench.jsonl",
                                .program = "bench",
                                .runner = &runner,
                                .main = procedure,
                                .library = library,
                                .library_count = count};
  if (eb_scratch_create(eb_host_system(), &scratch, &error) != EB_OK ||
      eb_bay_create(eb_host_system(), &usual, &bay, &error) != EB_OK ||
      eb_session_start(eb_scratch_host(scratch), &options, &session, &error) != EB_OK)
    die("a job", error.message);
  while (true) {
    const eb_json *message;
    while ((message = eb_session_next(session)) != NULL)
      if (eb_bay_hear(bay, message, &error) != EB_OK)
        die("the bay", error.message);
    if (eb_session_where(session) != EB_SESSION_ASKS)
      break;
    if (eb_bay_answer(bay, eb_session_ask(session), line, sizeof line, &error) != EB_OK)
      die("an answer", error.message);
    eb_session_take(session, line, strlen(line), &error);
  }
  if (eb_account_read(eb_scratch_host(scratch), "bench.jsonl", &account, &error) != EB_OK)
    die("its journal", error.message);
  take_lines(l, &account);
  eb_account_clear(&account);
  eb_session_destroy(session);
  eb_bay_destroy(bay);
  eb_scratch_destroy(scratch);
}

/* The first record under another name, time and engine. */
static char *first_text(const char *text, const char *name, long number)
{
  char time[96], engine[64], file[64];
  eb_json *open = NULL, *inputs = eb_json_object(), *kept = eb_json_object();
  snprintf(time, sizeof time, "20%02ld-%02ld-%02ldT09:%02ld:00.000+01:00", 10 + number / 700, 1 + number % 12,
           1 + number % 28, number % 60);
  snprintf(engine, sizeof engine, "Engine %ld", number / OF_ENGINE);
  snprintf(file, sizeof file, "engine-%ld", number / OF_ENGINE);
  if (eb_json_parse(text, strlen(text), &open, NULL) != EB_OK || !eb_json_set_string(open, "session", name) ||
      !eb_json_set_string(open, "time", time) || !eb_json_set_string(kept, "file", file) ||
      !eb_json_set_string(kept, "name", engine) || !eb_json_set_string(inputs, "engine", engine) ||
      !eb_json_set(inputs, "engine_file", kept) || !eb_json_set(open, "inputs", inputs))
    die("a first record", "no memory");
  char *made = eb_json_text(open);
  eb_json_destroy(open);
  return made;
}

static void put_line(FILE *file, const char *text, char digest[EB_DIGEST_SIZE])
{
  size_t size = strlen(text) - 1;
  eb_digest_chain(digest, text, size, digest);
  fwrite(text, 1, size, file);
  fprintf(file, ",\"h\":\"%s\"}\n", digest);
}

static void write_session(const char *folder, const lines *l, long number)
{
  char name[64], path[4200], digest[EB_DIGEST_SIZE] = "";
  snprintf(name, sizeof name, "20%02ld%02ld%02ld-v8-coupled-%ld", 10 + number / 700, 1 + number % 12, 1 + number % 28,
           number);
  snprintf(path, sizeof path, "%s/%s.jsonl", folder, name);
  FILE *file = fopen(path, "wb");
  if (file == NULL)
    die(path, strerror(errno));
  char *first = first_text(l->text[0], name, number);
  put_line(file, first, digest);
  eb_json_text_free(first);
  for (size_t i = 1; i < l->count; i++)
    put_line(file, l->text[i], digest);
  fclose(file);
}

/* A job of very many answers: what was answered and told between the first record and the last, over and over. */
static void write_long(const char *path, const lines *l)
{
  char digest[EB_DIGEST_SIZE] = "";
  long answers = 0;
  FILE *file = fopen(path, "wb");
  if (file == NULL)
    die(path, strerror(errno));
  put_line(file, l->text[0], digest);
  while (answers < ANSWERS)
    for (size_t i = 1; i + 1 < l->count && answers < ANSWERS; i++) {
      answers += strncmp(l->text[i], "{\"kind\":\"answer\"", 16) == 0;
      put_line(file, l->text[i], digest);
    }
  put_line(file, l->text[l->count - 1], digest);
  fclose(file);
}

static void look_bare(const char *folder, const char *name)
{
  char path[4600], bytes[HEAD];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  int file = open(path, O_RDONLY);
  if (file < 0)
    return;
  off_t size = lseek(file, 0, SEEK_END);
  if (pread(file, bytes, HEAD, 0) < 0 || pread(file, bytes, TAIL, size > TAIL ? size - TAIL : 0) < 0)
    die(path, strerror(errno));
  close(file);
}

/* As a program would, in a process of its own. */
static double seconds_bare(const char *folder)
{
  double begun = seconds_now();
  pid_t child = fork();
  if (child == 0) {
    DIR *names = opendir(folder);
    for (struct dirent *entry; names != NULL && (entry = readdir(names)) != NULL;)
      if (entry->d_name[0] != '.')
        look_bare(folder, entry->d_name);
    if (names != NULL)
      closedir(names);
    _exit(0);
  }
  int status = 1;
  if (child < 0 || waitpid(child, &status, 0) < 0 || status != 0)
    die("the bare baseline", "failed");
  return seconds_now() - begun;
}

static double seconds_of(char *const *words)
{
  double begun = seconds_now();
  pid_t child = fork();
  if (child == 0) {
    int nothing = open("/dev/null", O_RDWR);
    dup2(nothing, STDOUT_FILENO);
    execv(EB_PROGRAM, words);
    _exit(127);
  }
  int status = 1;
  if (child < 0 || waitpid(child, &status, 0) < 0 || status != 0)
    die(words[1], "failed");
  return seconds_now() - begun;
}

static void bench_list(const char *what, char *const *words, const char *folder)
{
  pair p;
  for (int round = 0; round < ROUNDS; round++)
    note(&p, round, seconds_of(words), seconds_bare(folder));
  printf("%-34s %9.1f ms   bare %9.1f ms   ratio %6.2f\n", what, median(p.ours) * 1e3, median(p.bare) * 1e3,
         median(p.ratio));
}

/* The lines as trees, and no more. */
static double seconds_parse(const char *path)
{
  double begun = seconds_now();
  FILE *file = fopen(path, "rb");
  char *line = NULL;
  size_t room = 0;
  ssize_t size;
  while (file != NULL && (size = getline(&line, &room, file)) > 0) {
    eb_json *record = NULL;
    if (eb_json_parse(line, (size_t)size - 1, &record, NULL) != EB_OK)
      die(path, "no JSON");
    eb_json_destroy(record);
  }
  free(line);
  if (file != NULL)
    fclose(file);
  return seconds_now() - begun;
}

static double seconds_report(const char *path, eb_report_form form)
{
  eb_account account;
  eb_error error;
  eb_text text;
  double begun = seconds_now();
  eb_report_options options = {.form = form};
  eb_text_init(&text, eb_host_system());
  if (eb_account_read(eb_host_system(), path, &account, &error) != EB_OK ||
      eb_report_write(&account, &options, &text, &error) != EB_OK)
    die(path, error.message);
  eb_account_clear(&account);
  eb_text_clear(&text);
  return seconds_now() - begun;
}

static void bench_report(const char *path)
{
  static const char *const forms[] = {"page", "text", "csv", "json"};
  for (int form = 0; form < 4; form++) {
    pair p;
    for (int round = 0; round < ROUNDS; round++)
      note(&p, round, seconds_report(path, (eb_report_form)form), seconds_parse(path));
    printf("report of %d answers, %-9s    %9.1f ms   bare %9.1f ms   ratio %6.2f\n", (int)ANSWERS, forms[form],
           median(p.ours) * 1e3, median(p.bare) * 1e3, median(p.ratio));
  }
}

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *at)
{
  (void)status;
  (void)kind;
  (void)at;
  return remove(path);
}

int main(int count, char **words)
{
  const char *base = getenv("TMPDIR");
  char data[4096], folder[4120], path[4200];
  lines l;
  long sessions = count > 1 ? strtol(words[1], NULL, 10) : SESSIONS;
  snprintf(data, sizeof data, "%s/bench-lists-XXXXXX", base == NULL ? "/tmp" : base);
  if (mkdtemp(data) == NULL)
    die(data, strerror(errno));
  snprintf(folder, sizeof folder, "%s/sessions", data);
  snprintf(path, sizeof path, "%s/long.jsonl", data);
  mkdir(folder, 0755);
  play(&l);
  for (long i = 0; i < sessions; i++)
    write_session(folder, &l, i);
  write_long(path, &l);
  printf("%ld sessions of %zu records, %d of them about one engine\n", sessions, l.count,
         (int)(sessions < OF_ENGINE ? sessions : OF_ENGINE));
  char *const listed[] = {"evenbore", "sessions", "--data", data, NULL};
  seconds_bare(folder);
  bench_list("sessions", listed, folder);
  bench_report(path);
  nftw(data, remove_one, 16, FTW_DEPTH | FTW_PHYS);
  return 0;
}
