/* The command `report`. */
#include "evenbore/report.h"

#include "run.h"
#include "sessions.h"
#include "written.h"

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
  eb_report_options options;
  char path[EB_SESSION_PATH_SIZE];
  eb_account account;
  eb_error error;
  eb_status status = eb_written_options(run, &options, &error);
  if (status == EB_OK)
    status = read_session(run, path, &account, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  eb_text text;
  eb_text_init(&text, run->host);
  int exit_status = EB_EXIT_FAILED;
  if (eb_report_write(&account, &options, &text, &error) == EB_OK)
    exit_status = eb_written_out(run, &text);
  else
    eb_run_complain(run, &error);
  if (exit_status == EB_EXIT_DONE)
    exit_status = eb_run_account_status(run, path, &account.recovery);
  eb_text_clear(&text);
  eb_account_clear(&account);
  return exit_status;
}
