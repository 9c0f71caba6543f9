/* The room front: what a person or another program meets: the command line, the terminal and the line protocol.
 * It uses the public headers alone, as any program around the library would. */
#include "evenbore/front.h"

#include "complete.h"
#include "data.h"
#include "figure.h"
#include "run.h"

#include "evenbore/script.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int usage(eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return EB_EXIT_USAGE;
}

/* A procedure runs in a process of its own, which has nothing of this one. */
static int run_contained(eb_run *run, int (*command)(const eb_run *run))
{
  eb_error error;
  eb_script_child *child = NULL;
  eb_script_limits limits = eb_script_limits_usual();
  limits.tells_use = run->options.budget;
  eb_script_child_options options = {.limits = &limits, .trusts = run->options.trust_file};
  if (eb_script_child_create(run->host, &options, &child, &error) != EB_OK) {
    eb_run_complain(run, &error);
    return EB_EXIT_FAILED;
  }
  if (!eb_script_child_is_filtered(child) && run->options.command != EB_COMMAND_PROCEDURES)
    eb_run_remark(run, "this machine's kernel has no seccomp filters, so a procedure cannot be locked in whole: "
                       "built-in ones run with what protection there is, a file runs only with --trust-file");
  run->child = child;
  run->runner = eb_script_child_runner(child);
  int status = command(run);
  eb_script_child_destroy(child);
  return status;
}

static int run_command(eb_run *run)
{
  switch (run->options.command) {
  case EB_COMMAND_VERSION: return eb_run_version(run);
  case EB_COMMAND_TUNE: return run_contained(run, eb_run_tune);
  case EB_COMMAND_RESUME: return run_contained(run, eb_run_resume);
  case EB_COMMAND_SESSIONS: return eb_run_sessions(run);
  case EB_COMMAND_SHOW: return eb_run_show(run);
  case EB_COMMAND_REPORT: return eb_run_report(run);
  case EB_COMMAND_HISTORY: return eb_run_history(run);
  case EB_COMMAND_COMPARE: return eb_run_compare(run);
  case EB_COMMAND_PROCEDURES: return run_contained(run, eb_run_procedures);
  case EB_COMMAND_ENGINES: return eb_run_engines(run);
  case EB_COMMAND_ENGINE: return eb_run_engine(run);
  case EB_COMMAND_GAUGES: return eb_run_gauges(run);
  case EB_COMMAND_GAUGE: return eb_run_gauge(run);
  case EB_COMMAND_HABITS: return eb_run_habits(run);
  case EB_COMMAND_REHEARSE: return run_contained(run, eb_run_rehearse);
  case EB_COMMAND_PRACTICE: return run_contained(run, eb_run_practice);
  case EB_COMMAND_NEW: return run_contained(run, eb_run_new);
  case EB_COMMAND_CHECK: return run_contained(run, eb_run_check);
  case EB_COMMAND_MANUAL: return eb_run_manual(run);
  case EB_COMMAND_MAKER: return eb_run_maker(run);
  case EB_COMMAND_MAKERS: return eb_run_makers(run);
  case EB_COMMAND_TRUST: return eb_run_trust(run);
  case EB_COMMAND_DISTRUST: return eb_run_distrust(run);
  case EB_COMMAND_ADD: return eb_run_add(run);
  case EB_COMMAND_REMOVE: return eb_run_remove(run);
  case EB_COMMAND_SHELF: return eb_run_shelf(run);
  case EB_COMMAND_PACK: return run_contained(run, eb_run_pack);
  case EB_COMMAND_INSPECT: return run->options.rehearse ? run_contained(run, eb_run_inspect) : eb_run_inspect(run);
  case EB_COMMAND_HELP:
  case EB_COMMAND_FIGURE:
  case EB_COMMAND_COMPLETE:
  case EB_COMMANDS: break;
  }
  return eb_run_help(run);
}

/* A file opened later must not come to lie where output goes: a journal would be written over.  What cannot be written
 * to a closed output is an error of its write, as on a full disk, and not lost in silence. */
static bool fill_standard_files(void)
{
  for (int file = STDIN_FILENO; file <= STDERR_FILENO; file++)
    if (fcntl(file, F_GETFD) < 0 && open("/dev/null", file == STDOUT_FILENO ? O_RDONLY : O_RDWR) != file)
      return false;
  return true;
}

/* `figure` has options of its own; those of all commands may stand among them, and change no answer. */
static int find_figure(int argc, char **argv)
{
  int at = 1, size = 0;
  while (at < argc && (size = eb_options_general(argc, argv, at)) > 0)
    at += size;
  return at < argc && strcmp(argv[at], eb_command_word(EB_COMMAND_FIGURE)) == 0 ? at : 0;
}

static int run_figure(int argc, char **argv, int figure)
{
  int kept = figure;
  for (int at = figure; at < argc;) {
    int size = eb_options_general(argc, argv, at);
    if (size == 0)
      argv[kept++] = argv[at++];
    at += size;
  }
  return eb_figure_run(kept - figure, argv + figure, stdout, stderr);
}

/* What is there already and is no folder keeps nothing, and must not pass for an empty one. */
static eb_status check_data(const eb_run *run, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  if (eb_data_path(run->options.data, "", path, NULL) != EB_OK)
    return EB_OK; /* told by who needs it */
  for (size_t size = strlen(path); size > 1 && path[size - 1] == '/'; size--)
    path[size - 1] = '\0';
  eb_path_kind kind = run->host->files.kind(run->host->context, path);
  if (kind == EB_PATH_FOLDER || kind == EB_PATH_NOTHING)
    return EB_OK;
  return eb_fail(error, EB_BAD_VALUE, path, "this is no folder; choose another with --data");
}

int eb_front_run(int argc, char **argv, const eb_host *host)
{
  eb_run run = {.host = host};
  eb_error error;
  if (!fill_standard_files())
    return EB_EXIT_FAILED;
  sigaction(SIGPIPE, &(struct sigaction){.sa_handler = SIG_IGN}, NULL); /* a closed pipe is an error of its write */
  sigaction(SIGCHLD, &(struct sigaction){.sa_handler = SIG_DFL}, NULL); /* ignored, nothing tells how a child ended */
  eb_run_look(&run);
  int figure = find_figure(argc, argv);
  if (figure > 0)
    return run_figure(argc, argv, figure);
  if (argc > 1 && strcmp(argv[1], eb_command_word(EB_COMMAND_COMPLETE)) == 0)
    return eb_complete_run(&run, argc - 2, argv + 2);
  if (eb_options_read(argc, argv, &run.options, &error) != EB_OK)
    return usage(&run, &error);
  eb_run_look(&run);
  bool is_text = run.options.command == EB_COMMAND_HELP || run.options.command == EB_COMMAND_VERSION;
  return !is_text && check_data(&run, &error) != EB_OK ? usage(&run, &error) : run_command(&run);
}
