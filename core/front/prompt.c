#include "prompt.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 1024 };

static bool is_kind(const eb_json *ask, const char *kind)
{
  return strcmp(eb_json_get_string(ask, "kind", ""), kind) == 0;
}

const char *eb_prompt_title(const eb_json *ask, char *text, size_t size)
{
  const char *title = eb_json_get_string(ask, "title", "");
  const char *bore = eb_json_get_string(ask, "bore", NULL);
  if (title[0] != '\0')
    snprintf(text, size, "%s", title);
  else if (bore != NULL)
    snprintf(text, size, "Bore %s", bore);
  else
    snprintf(text, size, "%s", eb_json_get_string(ask, "adjuster", eb_json_get_string(ask, "key", "?")));
  return text;
}

static void say_title(eb_page *page, const eb_json *ask)
{
  char title[LINE_SIZE / 2];
  char line[LINE_SIZE];
  eb_prompt_title(ask, title, sizeof title);
  const char *stage = eb_json_get_string(ask, "stage", "");
  bool caution = is_kind(ask, "caution");
  if (caution)
    snprintf(line, sizeof line, *stage == '\0' ? "Caution: %s" : "Caution: %s (%s)", title, stage);
  else
    snprintf(line, sizeof line, "%s%s%s", stage, *stage == '\0' ? "" : ": ", title);
  if (strcmp(stage, title) == 0 && !caution)
    snprintf(line, sizeof line, "%s", title);
  eb_page_paragraph(page, caution ? EB_ALARM : EB_STRONG, "", "  ", line);
}

/* "1, 2 and 3" of an array of texts. */
static const char *listed(const eb_json *texts, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  int left = eb_json_count(texts);
  for (const eb_json *one = eb_json_first(texts); one != NULL && used < size; one = eb_json_next(one)) {
    int more = snprintf(text + used, size - used, "%s%s", eb_json_as_string(one, "?"),
                        left > 2    ? ", "
                        : left == 2 ? " and "
                                    : "");
    used += more < 0 ? size : (size_t)more;
    left--;
  }
  return text;
}

static void say_list(eb_page *page, const char *lead, const eb_json *texts)
{
  char list[LINE_SIZE];
  char line[LINE_SIZE + 80];
  if (eb_json_count(texts) == 0)
    return;
  snprintf(line, sizeof line, "%s %s.", lead, listed(texts, list, sizeof list));
  eb_page_say(page, line);
}

/* "1 to 30 div" */
static const char *range(const eb_json *ask, char *text, size_t size)
{
  char low[EB_FORMAT_SIZE];
  char high[EB_FORMAT_SIZE];
  const char *unit = eb_json_get_string(ask, "unit", "");
  snprintf(text, size, "%s to %s%s%.40s", eb_format_plain(eb_json_get_number(ask, "low", 0), low),
           eb_format_plain(eb_json_get_number(ask, "high", 0), high), *unit == '\0' ? "" : " ", unit);
  return text;
}

static void want_number(eb_page *page, const eb_json *ask)
{
  char text[LINE_SIZE / 4];
  char step[EB_FORMAT_SIZE];
  range(ask, text, sizeof text);
  if (eb_json_is_number(eb_json_get(ask, "step")))
    eb_page_sayf(page, "%s, in steps of %s", text, eb_format_plain(eb_json_get_number(ask, "step", 0), step));
  else
    eb_page_say(page, text);
}

static void say_hazards(eb_page *page, const eb_json *ask)
{
  for (const eb_json *hazard = eb_json_first(eb_json_get(ask, "hazards")); hazard != NULL;
       hazard = eb_json_next(hazard))
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", eb_json_as_string(hazard, "?"));
}

static void want_caution(eb_page *page, const eb_json *ask)
{
  const eb_json *code = eb_json_get(ask, "code");
  char text[80];
  eb_page_sayf(page, "Type %.40s when all of this is seen to.", eb_format_value(code, "", text, sizeof text));
}

/* Parts that the title does not name already. */
static void say_parts(eb_page *page, const char *lead, const eb_json *ask, const eb_json *parts)
{
  const char *first = eb_json_as_string(eb_json_at(parts, 0), "");
  if (eb_json_count(parts) > 1 || strstr(eb_json_get_string(ask, "title", ""), first) == NULL)
    say_list(page, lead, parts);
}

static void want_confirm(eb_page *page, const eb_json *ask)
{
  say_parts(page, "With yes these count as taken off:", ask, eb_json_get(ask, "takes_off"));
  say_parts(page, "With yes these count as back on:", ask, eb_json_get(ask, "refits"));
  const char *usual = eb_prompt_default(ask);
  eb_page_sayf(page, "1 yes, 0 no%s", usual == NULL ? "" : *usual == '1' ? "; Enter alone: yes" : "; Enter alone: no");
}

static void want_choose(eb_page *page, const eb_json *ask)
{
  int number = 1;
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  for (; option != NULL; option = eb_json_next(option)) {
    char first[16];
    snprintf(first, sizeof first, "%2d  ", number++);
    eb_page_paragraph(page, EB_PLAIN, first, "    ",
                      eb_json_get_string(option, "text", eb_json_get_string(option, "id", "?")));
  }
  eb_page_say(page, "Type its number.");
}

static void want_reading(eb_page *page, const eb_json *ask)
{
  char text[LINE_SIZE / 4];
  char best[EB_FORMAT_SIZE * 2 + 16] = "";
  char low[EB_FORMAT_SIZE];
  char high[EB_FORMAT_SIZE];
  const eb_json *band = eb_json_get(ask, "best");
  if (eb_json_count(band) == 2)
    snprintf(best, sizeof best, ", best %s to %s", eb_format_plain(eb_json_as_number(eb_json_at(band, 0), 0), low),
             eb_format_plain(eb_json_as_number(eb_json_at(band, 1), 0), high));
  const char *length = eb_json_get_string(ask, "length", NULL);
  if (length != NULL)
    eb_page_sayf(page, "%.40s, %s; 0 if it is shut, 00 if it cannot be measured", length,
                 range(ask, text, sizeof text));
  else
    eb_page_sayf(page, "%s%s; 00 if it cannot be read", range(ask, text, sizeof text), best);
}

/* The next bore that moves the same way. */
static const eb_json *next_that_way(const eb_json *bore, bool up)
{
  while (bore != NULL && (eb_json_as_number(bore, 0) > 0) != up)
    bore = eb_json_next(bore);
  return bore;
}

const char *eb_prompt_share(const eb_json *share, bool up, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  const eb_json *bore = next_that_way(eb_json_first(share), up);
  while (bore != NULL && used < size) {
    char by[EB_FORMAT_SIZE];
    char next_by[EB_FORMAT_SIZE] = "";
    const eb_json *next = next_that_way(eb_json_next(bore), up);
    eb_format_fixed(fabs(eb_json_as_number(bore, 0)) * 100, 1, by);
    if (next != NULL)
      eb_format_fixed(fabs(eb_json_as_number(next, 0)) * 100, 1, next_by);
    int more = strcmp(by, next_by) == 0 ? snprintf(text + used, size - used, "%s ", eb_json_key(bore))
                                        : snprintf(text + used, size - used, "%s by %s %%%s", eb_json_key(bore), by,
                                                   next == NULL ? "" : ", ");
    used += more < 0 ? size : (size_t)more;
    bore = next;
  }
  return text;
}

/* Which length it is stands beside every figure: a feeler gap and an edge travel differ by a factor. */
static void want_amount(eb_page *page, const eb_json *amount)
{
  double value = eb_json_get_number(amount, "value", 0);
  double low = fabs(eb_json_get_number(amount, "low", value));
  double high = fabs(eb_json_get_number(amount, "high", value));
  const char *unit = eb_json_get_string(amount, "unit", "");
  const char *what = eb_json_get_string(amount, "what", "");
  bool named = what[0] != '\0' && strcmp(what, unit) != 0;
  char about[EB_FORMAT_SIZE], least[EB_FORMAT_SIZE], most[EB_FORMAT_SIZE], span[2 * EB_FORMAT_SIZE + 16] = "";
  if (low < high || high < low)
    snprintf(span, sizeof span, " (%s to %s)", eb_format_about(fmin(low, high), least),
             eb_format_about(fmax(low, high), most));
  char text[LINE_SIZE];
  snprintf(text, sizeof text, "Amount: %s by about %s %.40s%s%.60s%s", value < 0 ? "close" : "open",
           eb_format_about(fabs(value), about), unit, named ? " of " : "", named ? what : "", span);
  eb_page_paragraph(page, EB_PLAIN, "  ", "    ", text);
}

/* A length to be set, not one to move by. */
static void want_target(eb_page *page, const eb_json *amount)
{
  char value[EB_FORMAT_SIZE], text[LINE_SIZE];
  const char *unit = eb_json_get_string(amount, "unit", "");
  snprintf(text, sizeof text, "Set its %.60s to %s %.40s", eb_json_get_string(amount, "what", ""),
           eb_format_fixed(eb_json_get_number(amount, "value", 0), strcmp(unit, "mm") == 0 ? 3 : 2, value), unit);
  eb_page_paragraph(page, EB_STRONG, "  ", "    ", text);
}

static void want_adjust(eb_page *page, const eb_json *ask)
{
  char text[LINE_SIZE];
  const eb_json *share = eb_json_get(ask, "share");
  if (eb_prompt_share(share, true, text, sizeof text)[0] != '\0')
    eb_page_paragraph(page, EB_STRONG, "  Open (more air):  ", "    ", text);
  if (eb_prompt_share(share, false, text, sizeof text)[0] != '\0')
    eb_page_paragraph(page, EB_STRONG, "  Close (less air): ", "    ", text);
  const eb_json *amount = eb_json_get(ask, "amount");
  const char *unit = eb_json_get_string(amount, "unit", "");
  if (eb_json_get_bool(amount, "to", false))
    want_target(page, amount);
  else if (eb_json_is_object(amount))
    want_amount(page, amount);
  else
    eb_page_paragraph(page, EB_PLAIN, "  ", "    ",
                      "Amount: not known for this part. Move a little; it is measured "
                      "afterwards.");
  const char *engine = eb_json_get_string(ask, "engine", "");
  if (engine[0] != '\0')
    eb_page_sayf(page, "  Engine %s.", engine);
  if (unit[0] == '\0')
    eb_page_say(page, "1 done, 0 cannot be done");
  else
    eb_page_sayf(page, "1 done, 1 and the real amount in %.40s, 0 cannot be done", unit);
}

static void want_engine(eb_page *page, const eb_json *ask)
{
  say_list(page, "Still off:", eb_json_get(ask, "open"));
  bool runs = strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
  eb_page_say(page, runs ? "1 when the engine runs" : "1 when the engine stands still");
}

static void want(eb_page *page, const eb_json *ask)
{
  if (is_kind(ask, "caution"))
    want_caution(page, ask);
  else if (is_kind(ask, "confirm"))
    want_confirm(page, ask);
  else if (is_kind(ask, "choose"))
    want_choose(page, ask);
  else if (is_kind(ask, "number"))
    want_number(page, ask);
  else if (is_kind(ask, "text"))
    eb_page_sayf(page, "One line, at most %d characters", eb_json_get_int(ask, "limit", 2000));
  else if (is_kind(ask, "reading"))
    want_reading(page, ask);
  else if (is_kind(ask, "adjust"))
    want_adjust(page, ask);
  else if (is_kind(ask, "engine"))
    want_engine(page, ask);
}

static void say_again(eb_page *page, const eb_json *ask)
{
  const eb_json *again = eb_json_get(ask, "again");
  if (again == NULL)
    return;
  char value[80];
  char line[LINE_SIZE];
  eb_format_value(eb_json_get(again, "value"), "", value, sizeof value);
  snprintf(line, sizeof line, "%s looks like a slip: %s. Type %s again if it is right, else the right value.", value,
           eb_json_get_string(again, "why", "it is far from the others"), value);
  eb_page_paragraph(page, EB_STRONG, "", "  ", line);
}

static void say_before(eb_page *page, const eb_json *ask)
{
  const eb_json *before = eb_json_get(ask, "before");
  char value[200];
  if (before == NULL)
    return;
  eb_format_value(eb_json_get(before, "value"), eb_json_get_string(ask, "unit", ""), value, sizeof value);
  eb_page_sayf(page, "before: %s (taken back)", value);
}

void eb_prompt_show(eb_page *page, const eb_json *ask, const eb_json *last)
{
  eb_page_blank(page);
  say_title(page, ask);
  const char *text = eb_json_get_string(ask, "text", "");
  char title[LINE_SIZE / 2];
  bool shown = last != NULL && is_kind(last, eb_json_get_string(ask, "kind", "")) &&
               strcmp(text, eb_json_get_string(last, "text", "")) == 0;
  if (text[0] != '\0' && !shown && strcmp(text, eb_prompt_title(ask, title, sizeof title)) != 0)
    eb_page_say(page, text);
  say_again(page, ask);
  say_before(page, ask);
  say_hazards(page, ask);
  want(page, ask);
}

void eb_prompt_repeat(eb_page *page, const eb_json *ask)
{
  say_title(page, ask);
  say_hazards(page, ask); /* whoever is asked for the code sees what it stands for */
  want(page, ask);
}

const char *eb_prompt_default(const eb_json *ask)
{
  const eb_json *usual = eb_json_get(ask, "default");
  if (!is_kind(ask, "confirm") || !eb_json_is_bool(usual) || eb_json_get(ask, "before") != NULL)
    return NULL;
  return eb_json_as_bool(usual, false) ? "1" : "0";
}

void eb_prompt_explain(eb_page *page, const eb_json *ask)
{
  static const struct {
    const char *kind, *text;
  } known[] = {
      {"caution",
       "A caution: see to every point, then type the two digits. Enter alone never passes it, and every caution "
       "has other digits, so that none is passed by habit."},
      {"confirm", "A question: 1 or yes, 0 or no."},
      {"choose", "A choice: type the number in front of the one that is true."},
      {"number", "A number: 92, 92.5, 92,5 or 6 1/2. Another unit may stand behind it, with a space: 198 F."},
      {"text",
       "Words: one line. The keys - + * / // -- ** and their words stay keys here, when nothing else is on the line."},
      {"reading",
       "A reading: hold the gauge square on the stack until it is steady, and type what it shows: 6, 6.25 or "
       "6 1/4. A value far from the others is asked twice, none is thrown away. 00 says that it cannot be read."},
      {"adjust",
       "A move: the first line says which bores get more air, the second which get less, both against what they "
       "have now. Mark where the part stands first. 1 says that it is done; where an amount was shown, the real one "
       "may follow (1 0.06). "
       "0 says that it cannot be done, and asks why."},
      {"engine",
       "The engine: start or stop it as the title says, then type 1. It is not to be started while a part is off."},
  };
  if (eb_json_get(ask, "length") != NULL) {
    eb_page_say(page,
                "A length at a plate, the engine off: type what was measured. A feeler gap and an edge travel are "
                "two different lengths; the line below says which. 0: shut; 00: it cannot be measured.");
    return;
  }
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (is_kind(ask, known[i].kind))
      eb_page_say(page, known[i].text);
}
