/* Prompt: an ask as a person at the engine sees it. */
#ifndef EVENBORE_PROMPT_H
#define EVENBORE_PROMPT_H

#include "page.h"

#include "evenbore/json.h"

/* Where in the job, what to do, in what unit and range, what may be typed.
 * `last` is the ask shown before it (NULL: none): a text that stands on the screen already is not repeated. */
void eb_prompt_show(eb_page *page, const eb_json *ask, const eb_json *last);

/* Title and what may be typed, once more. */
void eb_prompt_repeat(eb_page *page, const eb_json *ask);

/* What this kind of ask wants, at length. */
void eb_prompt_explain(eb_page *page, const eb_json *ask);

/* What Enter alone types; NULL where it types nothing. */
const char *eb_prompt_default(const eb_json *ask);

/* The moves of `share` {bore: relative change} in words: "Open (more air)  1 3  by 2.1 %". */
void eb_prompt_share(eb_page *page, const eb_json *share);

/* What is asked, in a few words: the title, the bore or the adjuster. */
const char *eb_prompt_title(const eb_json *ask, char *text, size_t size);

#endif
