/* The forms of a report, and the figures of its page. All set text->failed when memory runs out. */
#ifndef EB_REPORT_FORMS_H
#define EB_REPORT_FORMS_H

#include "story.h"

void form_page(const story *s, eb_text *page);
void form_text(const story *s, eb_text *text);
void form_csv(const story *s, bool semicolon, eb_text *text);
void form_json(const story *s, eb_text *text);
/* Adds a tree as a text and destroys it; where it was not `made` for want of memory, text->failed. */
void form_json_end(eb_text *text, eb_json *json, bool made);

/* What pages share: the style element, and an item of a list of facts; nothing where its text is empty. */
void page_style(eb_text *page);
void page_pair(eb_text *page, const char *name, const char *text);

/* What texts share: `string` in words after `column` columns of a line, further lines indented; a named line. */
void plain_wrapped(eb_text *text, size_t column, size_t indent, const char *string);
void plain_pair(eb_text *text, const char *name, const char *value);

/* The engine in plan view, its front at the left: each bore's value, deviation, doubt and word. `name` makes ids. */
void figure_engine(const story *s, const story_verdict *verdict, const char *name, const char *title, eb_text *page);
/* What the signs and lanes of that drawing mean: a list. */
void figure_key(double tolerance, eb_text *page);
/* The greatest deviation and the claim, verdict by verdict in the job's main condition, with the adjustments between
 * them. */
void figure_course(const story *s, eb_text *page);
/* Tables of the page. */
void tables_moves(const story *s, eb_text *page);
void tables_effects(const story *s, eb_text *page);
void tables_people(const story *s, eb_text *page);

/* Answers that hold to asks of some kinds (ended by NULL), those with one title together: "84 C (38, 82), 79 C (77)",
 * the numbers in brackets being the records'. */
typedef void (*group_writer)(eb_text *text, const char *title, const char *answers);
void groups_each(const story *s, const char *const *kinds, group_writer write, eb_text *text);
/* The same as a list of the page; where there are none, a paragraph that says `otherwise`. */
void groups_list(const story *s, const char *const *kinds, const char *otherwise, eb_text *page);

#endif
