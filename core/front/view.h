/* View: the messages of a session on a page, in the order in which they come. */
#ifndef EVENBORE_VIEW_H
#define EVENBORE_VIEW_H

#include "page.h"

#include "evenbore/json.h"

typedef struct eb_view {
  eb_page page;
  eb_json *layout; /* the last one shown; NULL: none. Owned */
  eb_json *ask;    /* the last one shown; NULL: none. Owned */
  char file[1024]; /* of the session's journal, as hello said */
  bool keys_told;
} eb_view;

void eb_view_init(eb_view *view, const eb_host *host, int columns, bool utf8, bool styled);
void eb_view_clear(eb_view *view);

/* Puts a message on the page and remembers what later ones need. False when memory runs out. */
bool eb_view_show(eb_view *view, const eb_json *message);

/* What a tell message says in words, unless that stands in what is drawn from its data: then "". */
const char *eb_view_words(const eb_json *message);

/* A plan's moves, where they are several; its sentence says all about one alone. */
void eb_view_moves(eb_page *page, const eb_json *layout, const eb_json *plan);

/* The keys at a prompt, in one line or two. */
void eb_view_keys(eb_page *page);

#endif
