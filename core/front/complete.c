#include "complete.h"

#include "data.h"
#include "sessions.h"
#include "shop_file.h"

#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

static const char script[] = "# Names of commands, options, sessions, engines, gauges and procedures for bash:\n"
                             "#   eval \"$(evenbore complete bash)\"\n"
                             "_evenbore_names() {\n"
                             "  local IFS=$'\\n'\n"
                             "  COMPREPLY=($(\"$1\" complete words \"${COMP_WORDS[@]:1:COMP_CWORD}\" 2>/dev/null))\n"
                             "}\n"
                             "complete -o default -F _evenbore_names evenbore\n";

/* What is being typed, and what stands before it. */
typedef struct typing {
  const eb_run *run;
  eb_command command; /* EB_COMMANDS: none yet */
  const char *typed;  /* the word to be completed */
  const char *option; /* that it is the value of; NULL: none */
  const char *data;   /* of --data */
  int place;          /* of the word among those that are no options, the command being 0 */
} typing;

/* Only names that a shell takes as they stand. */
static void offer(const typing *t, const char *name)
{
  static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
  if (name[0] != '\0' && strspn(name, plain) == strlen(name) && strncmp(name, t->typed, strlen(t->typed)) == 0)
    printf("%s\n", name);
}

static void offer_commands(const typing *t)
{
  for (int i = 0; i < EB_COMMANDS; i++)
    if (i != EB_COMMAND_COMPLETE)
      offer(t, eb_command_word((eb_command)i));
}

static void offer_options(const typing *t)
{
  const char *name;
  bool takes_value;
  for (int i = 0; eb_option_at(i, t->command, &name, &takes_value); i++)
    if (name != NULL)
      offer(t, name);
  offer(t, "--help");
}

static void offer_sessions(const typing *t)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_session_list list;
  if (eb_sessions_folder(t->data, folder, NULL) != EB_OK ||
      eb_sessions_names(t->run->host, folder, &list, NULL) != EB_OK)
    return;
  for (size_t i = 0; i < list.count; i++)
    offer(t, list.entries[i].id);
  eb_sessions_clear(&list);
}

static void offer_kept(const typing *t, const char *folder)
{
  char path[EB_DATA_PATH_SIZE];
  eb_shop_names names;
  if (eb_data_path(t->data, folder, path, NULL) != EB_OK ||
      eb_shop_names_list(t->run->host, path, &names, NULL) != EB_OK)
    return;
  for (size_t i = 0; i < names.count; i++)
    offer(t, names.names[i]);
  eb_shop_names_clear(&names);
}

/* A built-in procedure's file is called by its id. */
static void offer_procedures(const typing *t)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    char id[64];
    snprintf(id, sizeof id, "%.*s", (int)strcspn(sources[i].name, "."), sources[i].name);
    offer(t, id);
  }
}

static void offer_arguments(const typing *t)
{
  switch (t->command) {
  case EB_COMMAND_RESUME:
  case EB_COMMAND_SHOW:
  case EB_COMMAND_REPORT:
  case EB_COMMAND_COMPARE: offer_sessions(t); break;
  case EB_COMMAND_TUNE:
  case EB_COMMAND_REHEARSE:
  case EB_COMMAND_PRACTICE: offer_procedures(t); break;
  case EB_COMMAND_ENGINE:
  case EB_COMMAND_HISTORY: offer_kept(t, "engines"); break;
  case EB_COMMAND_GAUGE: offer_kept(t, "gauges"); break;
  case EB_COMMAND_HELP: offer_commands(t); break;
  default: break;
  }
}

static eb_command find_command(const char *word)
{
  int i = 0;
  while (i < EB_COMMANDS && strcmp(eb_command_word((eb_command)i), word) != 0)
    i++;
  return (eb_command)i;
}

/* Whether an option's value stands behind it. */
static bool wants_value(const char *word, const char **option)
{
  const char *name;
  bool takes_value;
  if (strcmp(word, "-o") == 0)
    word = "--output";
  for (int command = 0; command < EB_COMMANDS; command++)
    for (int i = 0; eb_option_at(i, (eb_command)command, &name, &takes_value); i++)
      if (name != NULL && takes_value && strcmp(name, word) == 0) {
        *option = name;
        return true;
      }
  return false;
}

static typing look(const eb_run *run, int count, char **words)
{
  typing t = {.run = run, .command = EB_COMMANDS, .typed = count > 0 ? words[count - 1] : ""};
  for (int i = 0; i + 1 < count; i++) {
    const char *option = NULL;
    if (wants_value(words[i], &option)) {
      if (i + 2 >= count)
        t.option = option;
      else if (strcmp(option, "--data") == 0)
        t.data = words[i + 1];
      i++;
    } else if (words[i][0] != '-') {
      if (t.place++ == 0)
        t.command = find_command(words[i]);
    }
  }
  return t;
}

static void complete(const typing *t)
{
  if (t->option != NULL && strcmp(t->option, "--engine") == 0)
    offer_kept(t, "engines");
  else if (t->option != NULL && strcmp(t->option, "--gauge") == 0)
    offer_kept(t, "gauges");
  else if (t->option != NULL)
    return;
  else if (t->place == 0)
    offer_commands(t);
  else if (t->typed[0] == '-' && t->command != EB_COMMANDS)
    offer_options(t);
  else if (t->place == 1 || (t->command == EB_COMMAND_COMPARE && t->place == 2))
    offer_arguments(t);
}

int eb_complete_run(const eb_run *run, int count, char **words)
{
  eb_error error;
  if (count == 1 && strcmp(words[0], "bash") == 0) {
    fputs(script, stdout);
  } else if (count >= 1 && strcmp(words[0], "words") == 0) {
    typing t = look(run, count - 1, words + 1);
    complete(&t);
  } else {
    eb_fail(&error, EB_BAD_VALUE, "complete", "it is for a shell; put eval \"$(evenbore complete bash)\" in ~/.bashrc");
    eb_run_complain(run, &error);
    return EB_EXIT_USAGE;
  }
  if (fflush(stdout) == 0)
    return EB_EXIT_DONE;
  eb_run_remark(run, "standard output cannot be written");
  return EB_EXIT_FAILED;
}
