/* Prompt: an ask as a person at the engine sees it. */
#ifndef EVENBORE_PROMPT_H
#define EVENBORE_PROMPT_H

#include "page.h"

#include "evenbore/json.h"

/* Where in the job, what to do, in what unit and range, what may be typed.
 * `last` is the ask shown before it (NULL: none): a text that stands on the screen already is not repeated. */
void eb_prompt_show(eb_page *page, const eb_json *ask, const eb_json *last);

/* Title, hazards and what may be typed, once more. */
void eb_prompt_repeat(eb_page *page, const eb_json *ask);

/* What this kind of ask wants, at length. */
void eb_prompt_explain(eb_page *page, const eb_json *ask);

/* What Enter alone types; NULL where it types nothing. */
const char *eb_prompt_default(const eb_json *ask);

/* One direction of `share` {bore: relative change} in words, cut to the buffer: "1 3 by 2.1 %, 5 by 2.2 %"; "" where no
 * bore moves that way. */
const char *eb_prompt_share(const eb_json *share, bool up, char *text, size_t size);

/* What is asked, in a few words: the title, the bore or the adjuster. */
const char *eb_prompt_title(const eb_json *ask, char *text, size_t size);

#endif
