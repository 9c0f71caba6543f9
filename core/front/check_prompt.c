/* A prompt's words: whether they are read at a glance, and whether they send hands to the engine unwarned. */
#include "check.h"

#include <ctype.h>
#include <string.h>

enum { GLANCE = 160 };

static int lines_in(const char *text)
{
  int lines = 1;
  for (; *text != '\0'; text++)
    lines += *text == '\n';
  return lines;
}

static int characters_in(const char *text)
{
  int count = 0;
  for (; *text != '\0'; text++)
    count += ((unsigned char)*text & 0xC0U) != 0x80U;
  return count;
}

static void look_at_length(eb_check *c, const eb_json *ask, const char *text)
{
  const char *at = eb_json_get_string(ask, "at", "");
  int characters = characters_in(text);
  c->use.text = characters > c->use.text ? characters : c->use.text;
  if (characters > GLANCE)
    eb_check_add(c, false, at,
                 "the prompt \"%.64s\" has a text of %d characters; %d at most are read at a glance: say less, "
                 "or put the reason into why",
                 eb_json_get_string(ask, "key", "?"), characters, (int)GLANCE);
  else if (lines_in(text) > 2)
    eb_check_add(c, false, at,
                 "the prompt \"%.64s\" has %d lines; two at most are read at a glance: say less, or ask in two "
                 "prompts",
                 eb_json_get_string(ask, "key", "?"), lines_in(text));
}

/* The words that `text` goes on with, whatever their case, and no letter behind them. */
static bool goes_on(const char *text, const char *words)
{
  size_t i = 0;
  for (; words[i] != '\0'; i++)
    if (tolower((unsigned char)text[i]) != words[i])
      return false;
  return !isalnum((unsigned char)text[i]);
}

/* Whether an order can begin here: at the start, behind a point or comma, behind "and" or "then". */
static bool begins(const char *text, size_t at)
{
  if (at == 0 || text[at - 1] == '\n')
    return true;
  if (text[at - 1] != ' ')
    return false;
  if (at >= 2 && strchr(".,:;?!", text[at - 2]) != NULL)
    return true;
  return (at >= 4 && strncmp(text + at - 4, "and", 3) == 0) || (at >= 5 && strncmp(text + at - 5, "then", 4) == 0);
}

/* What in the text sends hands or tools to the engine; NULL: nothing that is known. */
static const char *hands_in(const char *text)
{
  static const char *const orders[] = {"bend",    "lift",   "loosen", "pinch",   "press",   "prise",    "pull",
                                       "push",    "remove", "snap",   "squeeze", "slacken", "take off", "tap",
                                       "tighten", "turn",   "twist",  "undo",    "unhook",  "unscrew"};
  static const char *const anywhere[] = {"by hand", "finger", "fingers", "hands on", "your hand"};
  for (size_t at = 0; text[at] != '\0'; at++) {
    bool word = at == 0 || !isalnum((unsigned char)text[at - 1]);
    for (size_t i = 0; begins(text, at) && i < sizeof orders / sizeof orders[0]; i++)
      if (goes_on(text + at, orders[i]))
        return orders[i];
    for (size_t i = 0; word && i < sizeof anywhere / sizeof anywhere[0]; i++)
      if (goes_on(text + at, anywhere[i]))
        return anywhere[i];
  }
  return NULL;
}

/* The core warns before what it knows to be hazardous; what a text alone says it does not know. */
static void look_for_hands(eb_check *c, const eb_json *ask, const char *text)
{
  const char *in_title = hands_in(eb_json_get_string(ask, "title", ""));
  const char *met = in_title != NULL ? in_title : hands_in(text);
  bool known = eb_json_get_bool(ask, "hands", false) || eb_json_get_bool(ask, "snaps", false) ||
               eb_json_get(ask, "takes_off") != NULL || eb_json_get(ask, "refits") != NULL;
  if (met == NULL || known || strcmp(eb_json_get_string(ask, "kind", ""), "caution") == 0)
    return;
  eb_check_add(
      c, false, eb_json_get_string(ask, "at", ""),
      "the prompt \"%.64s\" sends hands to the engine (\"%s\"), and no caution for that comes before it; write "
      "hands = true, or takes_off = { \"part\" } where a part comes off",
      eb_json_get_string(ask, "key", "?"), met);
}

void eb_check_prompt(eb_check *check, const eb_json *ask, bool authors)
{
  const char *text = eb_json_get_string(ask, "text", "");
  look_at_length(check, ask, text);
  if (authors)
    look_for_hands(check, ask, text);
}
