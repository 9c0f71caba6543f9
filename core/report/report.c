/* Report: the page, the text and the figures that are left of a job.
 *
 * `story` picks out of the journal what is told; a file for each form writes it.
 * Used by the front, and by anyone who has a journal. */
#include "forms.h"

#include <string.h>

static const char *const words[] = {"page", "text", "csv", "json"};

eb_status eb_report_form_read(const char *word, eb_report_form *form, eb_error *error)
{
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(word, words[i]) == 0) {
      *form = (eb_report_form)i;
      return EB_OK;
    }
  return eb_fail(error, EB_BAD_VALUE, "", "there is no report as \"%.40s\"; it is one of page, text, csv, json", word);
}

eb_status eb_report_write(const eb_account *account, const eb_report_options *options, eb_text *text, eb_error *error)
{
  story s;
  eb_status status = story_read(account, options->program, &s, error);
  if (status != EB_OK)
    return status;
  switch (options->form) {
  case EB_REPORT_PAGE: form_page(&s, text); break;
  case EB_REPORT_TEXT: form_text(&s, text); break;
  case EB_REPORT_CSV: form_csv(&s, options->semicolon, text); break;
  case EB_REPORT_JSON: form_json(&s, text); break;
  }
  story_clear(&s);
  if (!text->failed)
    return EB_OK;
  eb_text_clear(text);
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}
