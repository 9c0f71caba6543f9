#include "meaning.h"

#include "lua_words.h"

#include "evenbore/api.h"

#include <string.h>

const char *eb_meaning_text(const eb_meanings *m, size_t offset)
{
  return m->pool.bytes == NULL ? "" : m->pool.bytes + offset;
}

static size_t keep(eb_meanings *m, const eb_text *text)
{
  size_t offset = m->pool.size;
  eb_text_add_bytes(&m->pool, eb_text_string(text), text->size + 1);
  return offset;
}

static size_t keep_bytes(eb_meanings *m, const char *bytes, size_t size)
{
  size_t offset = m->pool.size;
  eb_text_add_bytes(&m->pool, bytes, size);
  eb_text_add_bytes(&m->pool, "", 1);
  return offset;
}

static eb_meaning *add(eb_meanings *m, eb_meaning_kind kind, const char *file, unsigned line)
{
  if (m->count == m->room) {
    size_t room = m->room == 0 ? 64 : 2 * m->room;
    eb_meaning *more = m->host->allocate(m->host->context, m->found, room * sizeof *more);
    if (more == NULL) {
      m->failed = true;
      return NULL;
    }
    m->found = more;
    m->room = room;
  }
  m->found[m->count] = (eb_meaning){.kind = kind, .file = file, .line = line};
  return &m->found[m->count++];
}

/* The words of one call as they are gathered. */
typedef struct gathering {
  eb_text words, whole;
  eb_word key;
  bool of_part, keyed; /* of a part the first text is its id */
  eb_word before[2];   /* the last word, and the one before it */
} gathering;

static bool opens(const eb_word *word)
{
  return word->kind == EB_WORD_SIGN && strchr("({[", word->at[0]) != NULL;
}

static bool shuts(const eb_word *word)
{
  return word->kind == EB_WORD_SIGN && strchr(")}]", word->at[0]) != NULL;
}

/* Fields whose texts are for the program, not for people. */
static bool is_inner(const eb_word *field)
{
  static const char *const names[] = {"key", "id", "kind", "quantity", "unit", "engine", "condition", "adjuster"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
    if (eb_word_is(field, EB_WORD_NAME, names[i]))
      return true;
  return false;
}

static void gather(gathering *g, const eb_word *word)
{
  bool is_field = eb_word_is(&g->before[0], EB_WORD_SIGN, "=") && g->before[1].kind == EB_WORD_NAME;
  if (word->kind == EB_WORD_TEXT) {
    bool inner = is_field && is_inner(&g->before[1]);
    bool first_of_part = g->of_part && !is_field && !g->keyed;
    if (!g->keyed && (first_of_part || (inner && eb_word_is(&g->before[1], EB_WORD_NAME, "key")))) {
      g->key = *word;
      g->keyed = true;
    }
    /* Id and title of a part stand in the layout. */
    bool told = first_of_part || (g->of_part && is_field && eb_word_is(&g->before[1], EB_WORD_NAME, "title"));
    if (!inner && !told) {
      eb_text_add(&g->words, g->words.size > 0 ? " | " : "");
      eb_text_add_bytes(&g->words, word->at, word->size);
    }
  }
  eb_text_add(&g->whole, word->kind == EB_WORD_TEXT ? " \"" : " ");
  eb_text_add_bytes(&g->whole, word->at, word->size);
  eb_text_add(&g->whole, word->kind == EB_WORD_TEXT ? "\"" : "");
  g->before[1] = g->before[0];
  g->before[0] = *word;
}

/* What stands from here to the end of the call's arguments, and where that is; `words` is a copy, so that what is
 * called in there is found too. */
static size_t gather_call(eb_words words, gathering *g)
{
  int depth = 0;
  eb_word word;
  while (eb_words_next(&words, &word)) {
    gather(g, &word);
    depth += opens(&word) ? 1 : shuts(&word) ? -1 : 0;
    if (depth <= 0)
      break;
  }
  return words.at;
}

static size_t add_call(eb_meanings *m, eb_meaning_kind kind, const char *file, const eb_word *name,
                       const eb_words *words)
{
  gathering g = {.of_part = kind == EB_MEANS_PART};
  eb_text_init(&g.words, m->host);
  eb_text_init(&g.whole, m->host);
  size_t end = gather_call(*words, &g);
  eb_meaning *made = add(m, kind, file, name->line);
  if (made != NULL) {
    made->call = keep_bytes(m, name->at, name->size);
    made->key = keep_bytes(m, g.keyed ? g.key.at : "", g.keyed ? g.key.size : 0);
    made->words = keep(m, &g.words);
    made->whole = keep(m, &g.whole);
  }
  m->failed = m->failed || g.words.failed || g.whole.failed;
  eb_text_clear(&g.words);
  eb_text_clear(&g.whole);
  return end;
}

/* Each text of `cautions = { ... }` is one. */
static void add_cautions(eb_meanings *m, const char *file, eb_words words)
{
  int depth = 0;
  eb_word word;
  while (eb_words_next(&words, &word)) {
    depth += opens(&word) ? 1 : shuts(&word) ? -1 : 0;
    if (depth <= 0)
      break;
    eb_meaning *made = word.kind == EB_WORD_TEXT ? add(m, EB_MEANS_CAUTION, file, word.line) : NULL;
    if (made == NULL)
      continue;
    made->call = keep_bytes(m, "cautions", 8);
    made->key = keep_bytes(m, "", 0);
    made->words = keep_bytes(m, word.at, word.size);
    made->whole = keep_bytes(m, word.at, word.size);
  }
}

static bool is_call(const char *of, const eb_word *name, const eb_api_call **call)
{
  char text[40];
  if (name->size >= sizeof text)
    return false;
  memcpy(text, name->at, name->size);
  text[name->size] = '\0';
  *call = eb_api_call_find(of, text);
  return *call != NULL;
}

/* Calls that nobody notices are none of it. */
static bool kind_of(const char *call, eb_meaning_kind *kind)
{
  static const char *const unnoticed[] = {"state",   "shown", "shown_change", "comparable",
                                          "verdict", "plan",  "throttle"};
  static const struct {
    const char *call;
    eb_meaning_kind kind;
  } known[] = {{"caution", EB_MEANS_CAUTION}, {"tell", EB_MEANS_TELL},     {"explain", EB_MEANS_TELL},
               {"confirm", EB_MEANS_PROMPT},  {"choose", EB_MEANS_PROMPT}, {"number", EB_MEANS_PROMPT},
               {"line", EB_MEANS_PROMPT},     {"must", EB_MEANS_PROMPT},   {"read", EB_MEANS_PROMPT}};
  *kind = EB_MEANS_STEP;
  for (size_t i = 0; i < sizeof unnoticed / sizeof unnoticed[0]; i++)
    if (strcmp(unnoticed[i], call) == 0)
      return false;
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(known[i].call, call) == 0)
      *kind = known[i].kind;
  return true;
}

/* Where the reader is in a source. */
typedef struct reading {
  eb_meanings *list;
  const char *file;
  eb_words words;
  eb_word before; /* the word at hand */
  bool defines;   /* it stands in the name behind `function` */
  size_t inside;  /* up to here it is in the arguments of a call that was found */
} reading;

/* One word and the one after it; `ahead` stands behind that. */
static void read_word(reading *r, const eb_word *word, const eb_word *next, eb_words ahead)
{
  const eb_api_call *call = NULL;
  eb_meaning_kind kind = EB_MEANS_PART;
  bool calls = next->kind == EB_WORD_TEXT || eb_word_is(next, EB_WORD_SIGN, "(") || eb_word_is(next, EB_WORD_SIGN, "{");
  bool sets = eb_word_is(next, EB_WORD_SIGN, "=");
  bool of_job = eb_word_is(&r->before, EB_WORD_SIGN, ":");
  size_t end = 0;
  if (word->kind != EB_WORD_NAME || r->defines)
    return;
  if (calls && of_job && is_call("job", word, &call) && kind_of(call->name, &kind))
    end = add_call(r->list, kind, r->file, word, &r->words);
  else if (calls && !of_job && is_call("", word, &call) && strstr(call->gives, "adjuster") != NULL)
    end = add_call(r->list, EB_MEANS_PART, r->file, word, &r->words);
  else if (sets && eb_word_is(word, EB_WORD_NAME, "cautions"))
    add_cautions(r->list, r->file, ahead);
  else if (sets && eb_word_is(word, EB_WORD_NAME, "options") && r->words.at > r->inside)
    add_call(r->list, EB_MEANS_PROMPT, r->file, word, &ahead);
  r->inside = end > r->inside ? end : r->inside;
}

static void read_source(eb_meanings *m, const eb_source *source)
{
  reading r = {.list = m, .file = source->name, .before = {.kind = EB_WORD_SIGN, .at = ";", .size = 1}};
  eb_word word, next;
  eb_words_begin(&r.words, source->text, source->size);
  while (eb_words_next(&r.words, &word)) {
    eb_words behind = r.words, ahead = r.words;
    if (eb_words_next(&ahead, &next)) {
      /* A list behind a "=" begins with the word that is next by then. */
      eb_words value = eb_word_is(&next, EB_WORD_SIGN, "=") ? ahead : behind;
      read_word(&r, &word, &next, value);
    }
    bool in_name =
        word.kind == EB_WORD_NAME || eb_word_is(&word, EB_WORD_SIGN, ".") || eb_word_is(&word, EB_WORD_SIGN, ":");
    r.defines = eb_word_is(&word, EB_WORD_NAME, "function") || (r.defines && in_name);
    r.before = word;
  }
}

void eb_meanings_read(const eb_host *host, const eb_source *sources, size_t count, eb_meanings *meanings)
{
  *meanings = (eb_meanings){.host = host};
  eb_text_init(&meanings->pool, host);
  for (size_t i = 0; i < count; i++)
    read_source(meanings, &sources[i]);
  meanings->failed = meanings->failed || meanings->pool.failed;
}

void eb_meanings_clear(eb_meanings *meanings)
{
  meanings->host->allocate(meanings->host->context, meanings->found, 0);
  eb_text_clear(&meanings->pool);
}
