#include "written.h"

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

eb_status eb_written_options(const eb_run *run, eb_report_options *options, eb_error *error)
{
  *options = (eb_report_options){.semicolon = run->options.semicolon, .program = "evenbore " EB_VERSION};
  eb_status status = find_form(&run->options, &options->form, error);
  if (status == EB_OK && options->semicolon && options->form != EB_REPORT_CSV)
    status = eb_fail(error, EB_BAD_VALUE, "--semicolon", "goes with --as csv only");
  return status;
}

int eb_written_out(const eb_run *run, const eb_text *text)
{
  eb_error error;
  if (run->options.output == NULL)
    return eb_run_write(run, text);
  eb_status status = eb_file_create(run->host, run->options.output, text->bytes, text->size, 0666, &error);
  if (status == EB_OK)
    return EB_EXIT_DONE;
  eb_run_complain(run, &error);
  return eb_run_status(status);
}
