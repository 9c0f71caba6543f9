/* The forms of a report, and the figures of its page. All set text->failed when memory runs out. */
#ifndef EB_REPORT_FORMS_H
#define EB_REPORT_FORMS_H

#include "story.h"

void form_page(const story *s, eb_text *page);
void form_text(const story *s, eb_text *text);
void form_csv(const story *s, bool semicolon, eb_text *text);
void form_json(const story *s, eb_text *text);

/* The engine in plan view, its front at the left: each bore's value, deviation, doubt and word. `name` makes ids. */
void figure_engine(const story *s, const story_verdict *verdict, const char *name, const char *title, eb_text *page);
/* The greatest deviation and the claim, verdict by verdict at idle, with the adjustments between them. */
void figure_course(const story *s, eb_text *page);
/* Tables of the page. */
void tables_moves(const story *s, eb_text *page);
void tables_effects(const story *s, eb_text *page);
void tables_conditions(const story *s, eb_text *page);
void tables_people(const story *s, eb_text *page);

#endif
