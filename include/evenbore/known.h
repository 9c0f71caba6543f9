/* Known: what the adjusters of an engine answered in its jobs so far, for the next one to start from.
 *
 * The end of a journal has it under "answered": a list of {"adjuster", "kind", "sides", "gain", "spread", "moves"}:
 * what the adjuster does over what is wished, as mean and standard deviation, and after how many moves, those of
 * earlier jobs included. A session that starts from one has in its first record
 *   "known": {"session", "time", "digest", "adjusters": [as above, widened]}
 * and so stands alone: a replay goes by that record and by no other journal. */
#ifndef EVENBORE_KNOWN_H
#define EVENBORE_KNOWN_H

#include "evenbore/json.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a next session is told, from the first and the last record of an earlier one (`end` NULL: it is not over) and
 * the digest of its journal: its gains with the spreads of eb_gain_later.  Owned by the caller.  EB_NOT_FOUND: nothing
 * was moved, too little to be of use was learned (a spread above 0.45), or an older version wrote it; EB_BAD_VALUE:
 * what stands there cannot be; EB_REFUSED: it is not over; EB_OUT_OF_MEMORY. */
eb_status eb_known_make(const eb_json *open, const eb_json *end, const char *digest, eb_json **known, eb_error *error);

/* Whether an adjuster that is described so can be known: a gain from 0.25 to 4 and a spread above 0, at most 4. */
bool eb_known_is_sound(const eb_json *answered);

/* What is known of the adjuster of a layout (an element of "adjusters" in the line protocol's form): NULL where nothing
 * is, or where another kind of part, or one between other bores, has its name. Borrowed from `known`. */
const eb_json *eb_known_of(const eb_json *known, const eb_json *adjuster);

/* In words, for the first screen and the report: from which session, for which adjusters, how sure.  `layout` is that
 * of the line protocol, for the titles and for which adjusters it goes; NULL: all, by their ids.  One line. */
void eb_known_words(const eb_json *known, const eb_json *layout, eb_text *text);

#ifdef __cplusplus
}
#endif
#endif
