/* What changed from one bundle to the next. */
#include "difference.h"
#include "inspect.h"

#include <stdio.h>
#include <string.h>

enum { SHOWN_MAX = 400 }; /* bytes of one call's words */

/* Two lists being compared; `met` of an old one: it has its like among the new ones. */
typedef struct pair {
  eb_meanings old, new;
  bool *met;
  int told; /* lines said */
} pair;

static const char *text_of(const eb_meanings *list, size_t offset)
{
  return eb_meaning_text(list, offset);
}

static void say(eb_page *page, pair *p, eb_style style, const char *sign, const char *what, const char *words)
{
  char line[SHOWN_MAX + 100], first[8], rest[8];
  snprintf(line, sizeof line, "%s%s%.*s", what, words[0] == '\0' ? "" : ": ", SHOWN_MAX, words);
  snprintf(first, sizeof first, "%s ", sign);
  snprintf(rest, sizeof rest, "%*s", (int)strlen(first), "");
  eb_page_paragraph(page, style, first, rest, line);
  p->told++;
}

static const char *gone(eb_meaning_kind kind, const char *call, char *text, size_t size)
{
  switch (kind) {
  case EB_MEANS_CAUTION: return "caution lost";
  case EB_MEANS_PROMPT: return "asks no more";
  case EB_MEANS_TELL: return "says no more";
  case EB_MEANS_PART:
  case EB_MEANS_STEP: break;
  }
  snprintf(text, size, "step lost: job:%.40s", call);
  return text;
}

static const char *come(eb_meaning_kind kind, const char *call, char *text, size_t size)
{
  switch (kind) {
  case EB_MEANS_CAUTION: return "warns now";
  case EB_MEANS_PROMPT: return "asks now";
  case EB_MEANS_TELL: return "says now";
  case EB_MEANS_PART:
  case EB_MEANS_STEP: break;
  }
  snprintf(text, size, "new step: job:%.40s", call);
  return text;
}

/* The old call that does the same (`whole`), or goes by the same key; SIZE_MAX: none that is left. */
static size_t find(const pair *p, const eb_meaning *m, bool whole)
{
  for (size_t i = 0; i < p->old.count; i++) {
    const eb_meaning *old = &p->old.found[i];
    size_t mine = whole ? m->whole : m->key, theirs = whole ? old->whole : old->key;
    const char *text = text_of(&p->new, mine);
    if (!p->met[i] && old->kind == m->kind && (whole || text[0] != '\0') &&
        strcmp(text_of(&p->old, old->call), text_of(&p->new, m->call)) == 0 &&
        strcmp(text_of(&p->old, theirs), text) == 0)
      return i;
  }
  return SIZE_MAX;
}

static void say_changed(eb_page *page, pair *p, const eb_meaning *old, const eb_meaning *new)
{
  const char *before = text_of(&p->old, old->words), *after = text_of(&p->new, new->words);
  bool reworded = strcmp(before, after) != 0;
  if (new->kind == EB_MEANS_PART && !reworded)
    return; /* numbers alone: the layouts have them */
  say(page, p, EB_STRONG, "~", reworded ? "worded otherwise, was" : "changed, was",
      reworded ? before : text_of(&p->old, old->whole));
  say(page, p, EB_PLAIN, " ", "is now", reworded ? after : text_of(&p->new, new->whole));
}

/* What the manifests tell better: hazards by their list, parts that came or went by the layouts. */
static bool is_told(const eb_manifest *manifest, const eb_meanings *list, const eb_meaning *m)
{
  const char *words = text_of(list, m->words);
  for (int i = 0; m->kind == EB_MEANS_CAUTION && i < manifest->hazard_count; i++)
    if (strcmp(manifest->hazards[i], words) == 0)
      return true;
  return m->kind == EB_MEANS_PART;
}

/* What is equal goes first, so that it is nobody's partner by its key. */
static void compare(const eb_inspect *in, eb_page *page, pair *p, bool *same)
{
  char what[80];
  for (size_t i = 0; i < p->new.count; i++) {
    size_t old = find(p, &p->new.found[i], true);
    same[i] = old != SIZE_MAX;
    if (same[i])
      p->met[old] = true;
  }
  for (size_t i = 0; i < p->new.count; i++) {
    const eb_meaning *m = &p->new.found[i];
    size_t old = same[i] ? SIZE_MAX : find(p, m, false);
    if (old != SIZE_MAX) {
      p->met[old] = true;
      say_changed(page, p, &p->old.found[old], m);
    } else if (!same[i] && !is_told(&in->bundle.manifest, &p->new, m))
      say(page, p, EB_PLAIN, "+", come(m->kind, text_of(&p->new, m->call), what, sizeof what),
          text_of(&p->new, m->words));
  }
  for (size_t i = 0; i < p->old.count; i++) {
    const eb_meaning *m = &p->old.found[i];
    if (!p->met[i] && !is_told(&in->before.manifest, &p->old, m))
      say(page, p, m->kind == EB_MEANS_CAUTION || m->kind == EB_MEANS_STEP ? EB_ALARM : EB_PLAIN,
          m->kind == EB_MEANS_CAUTION || m->kind == EB_MEANS_STEP ? "!" : "-",
          gone(m->kind, text_of(&p->old, m->call), what, sizeof what), text_of(&p->old, m->words));
  }
}

static bool has(const char *const *texts, int count, const char *text)
{
  for (int i = 0; i < count; i++)
    if (strcmp(texts[i], text) == 0)
      return true;
  return false;
}

static void compare_texts(eb_page *page, pair *p, const char *const *old, int old_count, const char *const *new,
                          int new_count, eb_style style, const char *lost, const char *added)
{
  const char *sign = style == EB_ALARM ? "!" : "-";
  for (int i = 0; i < old_count; i++)
    if (!has(new, new_count, old[i]))
      say(page, p, style, sign, lost, old[i]);
  for (int i = 0; i < new_count; i++)
    if (!has(old, old_count, new[i]))
      say(page, p, EB_PLAIN, "+", added, new[i]);
}

static void sides_of(const eb_layout *layout, const eb_adjuster *a, char *text, size_t size)
{
  size_t used = 0;
  for (int side = 0; side < 2; side++) {
    eb_bores bores = side == 0 ? a->first : a->second;
    if (side == 1 && bores != 0 && used < size)
      used += (size_t)snprintf(text + used, size - used, " against");
    for (int i = 0; i < layout->bore_count && used < size; i++)
      if ((bores >> i & 1) != 0)
        used += (size_t)snprintf(text + used, size - used, "%s%s", used == 0 ? "" : " ", layout->bore[i]);
  }
}

static void words_of(const eb_layout *layout, const eb_adjuster *a, char *text, size_t size)
{
  char sides[400] = "";
  sides_of(layout, a, sides, sizeof sides);
  snprintf(text, size, "%s, engine %s, %g minutes, bores %s", a->title, a->stopped ? "off" : "running", a->effort_min,
           sides);
}

/* The adjusters by their ids, of each layout against the one at the same place. */
static void compare_moves(eb_page *page, pair *p, const eb_layout *old, const eb_layout *new)
{
  char before[600], after[600];
  for (int i = 0; i < new->adjuster_count; i++) {
    int same = eb_layout_adjuster(old, new->adjuster[i].id);
    words_of(new, &new->adjuster[i], after, sizeof after);
    if (same < 0) {
      say(page, p, EB_PLAIN, "+", "new move", after);
      continue;
    }
    words_of(old, &old->adjuster[same], before, sizeof before);
    if (strcmp(before, after) == 0)
      continue;
    say(page, p, EB_STRONG, "~", "another move, was", before);
    say(page, p, EB_PLAIN, " ", "is now", after);
  }
  for (int i = 0; i < old->adjuster_count; i++)
    if (eb_layout_adjuster(new, old->adjuster[i].id) < 0) {
      words_of(old, &old->adjuster[i], before, sizeof before);
      say(page, p, EB_PLAIN, "-", "move lost", before);
    }
}

static void compare_manifests(eb_page *page, pair *p, const eb_manifest *old, const eb_manifest *new)
{
  compare_texts(page, p, old->hazards, old->hazard_count, new->hazards, new->hazard_count, EB_ALARM, "caution lost",
                "warns now of");
  compare_texts(page, p, old->instruments, old->instrument_count, new->instruments, new->instrument_count, EB_PLAIN,
                "no longer needed", "needed now");
  for (int i = 0; i < old->layout_count && i < new->layout_count; i++)
    compare_moves(page, p, &old->layouts[i], &new->layouts[i]);
  if (old->layout_count != new->layout_count)
    say(page, p, EB_STRONG, "~", "another number of layouts", "");
  if (!eb_public_key_equal(&old->key, &new->key))
    say(page, p, EB_ALARM, "!", "another key has made it", old->maker);
  if (strcmp(old->licence, new->licence) != 0)
    say(page, p, EB_STRONG, "~", "another licence, was", old->licence);
}

static const eb_source *source_called(const eb_bundle *bundle, const char *name)
{
  for (size_t i = 0; i < bundle->source_count; i++)
    if (strcmp(bundle->source[i].name, name) == 0)
      return &bundle->source[i];
  return NULL;
}

static eb_status say_difference(eb_inspect *in, const char *name, const eb_source *old, const eb_source *new,
                                eb_error *error)
{
  static const eb_source nothing = {.name = "", .text = "", .size = 0};
  old = old == NULL ? &nothing : old;
  new = new == NULL ? &nothing : new;
  if (old->size == new->size && memcmp(old->text, new->text, new->size) == 0)
    return EB_OK;
  eb_page_blank(&in->page);
  eb_page_put(&in->page, EB_STRONG, name);
  eb_page_put(&in->page, EB_PLAIN, old == &nothing ? ", new" : new == &nothing ? ", gone" : "");
  eb_page_end(&in->page);
  return eb_difference_say(&in->page, in->run->host, old, new, error);
}

static eb_status say_differences(eb_inspect *in, eb_error *error)
{
  eb_status status = EB_OK;
  for (size_t i = 0; status == EB_OK && i < in->bundle.source_count; i++) {
    const eb_source *new = &in->bundle.source[i];
    const char *name = i == 0 ? in->before.source[0].name : new->name;
    status = say_difference(in, new->name, source_called(&in->before, name), new, error);
  }
  for (size_t i = 1; status == EB_OK && i < in->before.source_count; i++)
    if (source_called(&in->bundle, in->before.source[i].name) == NULL)
      status = say_difference(in, in->before.source[i].name, &in->before.source[i], NULL, error);
  return status;
}

static bool compare_meanings(eb_inspect *in)
{
  const eb_host *host = in->run->host;
  pair p = {.told = 0};
  eb_meanings_read(host, in->before.source, in->before.source_count, &p.old);
  eb_meanings_read(host, in->bundle.source, in->bundle.source_count, &p.new);
  p.met = host->allocate(host->context, NULL, p.old.count + 1);
  bool *same = host->allocate(host->context, NULL, p.new.count + 1);
  bool done = p.met != NULL && same != NULL && !p.old.failed && !p.new.failed;
  if (done) {
    memset(p.met, 0, p.old.count + 1);
    compare_manifests(&in->page, &p, &in->before.manifest, &in->bundle.manifest);
    compare(in, &in->page, &p, same);
    if (p.told == 0)
      eb_page_say(&in->page, "Nothing that it asks, says, warns of or moves, as far as its text shows.");
  }
  host->allocate(host->context, p.met, 0);
  host->allocate(host->context, same, 0);
  eb_meanings_clear(&p.old);
  eb_meanings_clear(&p.new);
  return done;
}

eb_status eb_inspect_changes(eb_inspect *in, eb_error *error)
{
  eb_page *page = &in->page;
  eb_page_blank(page);
  if (strcmp(in->before.digest, in->bundle.digest) == 0) {
    eb_page_sayf(page, "It is the same as %s, byte by byte.", in->before_words);
    return EB_OK;
  }
  char head[200];
  snprintf(head, sizeof head, "Changed against %.150s", in->before_words);
  eb_page_paragraph(page, EB_STRONG, "", "", head);
  if (!compare_meanings(in))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  return say_differences(in, error);
}
