/* The command `report`. */
#include "evenbore/report.h"

#include "run.h"
#include "sessions.h"

#include "evenbore/file.h"

#include <string.h>

static eb_status find_form(const eb_options *options, eb_report_form *form, eb_error *error)
{
  static const struct {
    const char *ending;
    eb_report_form form;
  } endings[] = {{".html", EB_REPORT_PAGE},
                 {".htm", EB_REPORT_PAGE},
                 {".txt", EB_REPORT_TEXT},
                 {".csv", EB_REPORT_CSV},
                 {".json", EB_REPORT_JSON}};
  if (options->as != NULL)
    return eb_report_form_read(options->as, form, error);
  *form = EB_REPORT_TEXT;
  const char *ending = options->output == NULL ? NULL : strrchr(options->output, '.');
  if (options->output == NULL)
    return EB_OK;
  for (size_t i = 0; ending != NULL && i < sizeof endings / sizeof endings[0]; i++)
    if (strcmp(ending, endings[i].ending) == 0) {
      *form = endings[i].form;
      return EB_OK;
    }
  return eb_fail(error, EB_BAD_VALUE, options->output,
                 "the ending says no form of report; .html, .txt, .csv or .json is wanted, or --as");
}

static eb_status read_session(const eb_run *run, char path[EB_SESSION_PATH_SIZE], eb_account *account, eb_error *error)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_status status = eb_sessions_folder(run->options.data, folder, error);
  if (status == EB_OK)
    status = eb_sessions_find(run->host, folder, run->options.argument, path, error);
  return status == EB_OK ? eb_account_read(run->host, path, account, error) : status;
}

int eb_run_report(const eb_run *run)
{
  eb_report_options options = {.semicolon = run->options.semicolon, .program = "evenbore " EB_VERSION};
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_error error;
  eb_status status = find_form(&run->options, &options.form, &error);
  if (status == EB_OK && options.semicolon && options.form != EB_REPORT_CSV)
    status = eb_fail(&error, EB_BAD_VALUE, "--semicolon", "goes with --as csv only");
  if (status == EB_OK)
    status = read_session(run, path, &account, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  eb_text text;
  eb_text_init(&text, run->host);
  int exit_status = EB_EXIT_DONE;
  status = eb_report_write(&account, &options, &text, &error);
  if (status == EB_OK && run->options.output == NULL)
    exit_status = eb_run_write(run, &text);
  else if (status == EB_OK)
    status = eb_file_create(run->host, run->options.output, text.bytes, text.size, 0666, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    exit_status = eb_run_status(status);
  }
  if (exit_status == EB_EXIT_DONE)
    exit_status = eb_run_account_status(run, path, &account.recovery);
  eb_text_clear(&text);
  eb_account_clear(&account);
  return exit_status;
}
