/* Chart: the rows of bores as they sit in the engine, front at the top. */
#ifndef EVENBORE_CHART_H
#define EVENBORE_CHART_H

#include "page.h"

#include "evenbore/json.h"

/* `layout` as in the line protocol's hello; `readings` {bore: number or text} or NULL. */
void eb_chart_layout(eb_page *page, const eb_json *layout, const eb_json *readings);

/* The same without readings, and below it what can be adjusted: which bores against which, and whether the engine is to
 * stand for it. */
void eb_chart_parts(eb_page *page, const eb_json *layout);

/* A verdict as verdict.h describes it: the claim with its risk, every bore, and the contrasts that stand out. */
void eb_chart_verdict(eb_page *page, const eb_json *layout, const eb_json *verdict);

/* An adjuster of the layout by id, and its title for people; NULL and the id where it is not there. */
const eb_json *eb_chart_adjuster(const eb_json *layout, const char *id);
const char *eb_chart_adjuster_title(const eb_json *layout, const char *id);

/* "1 3 5 7": the bores of one side, cut to the buffer. */
const char *eb_chart_bores(const eb_json *bores, char *text, size_t size);

#endif
