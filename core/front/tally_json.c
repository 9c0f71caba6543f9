/* A tally as JSON, the same from every program that makes one. */
#include "tally.h"

const char *eb_rehearsal_end_word(eb_rehearsal_end end)
{
  static const char *const words[EB_REHEARSAL_ENDS] = {"even", "claimed", "stuck", "failed"};
  return words[end];
}

static eb_json *figures_json(const eb_figures *f)
{
  eb_json *made = eb_json_object(), *bins = eb_json_array();
  bool ok = eb_json_set_number(made, "median", f->median) && eb_json_set_number(made, "nine_in_ten", f->high) &&
            eb_json_set_number(made, "least", f->least) && eb_json_set_number(made, "most", f->most);
  for (int i = 0; i < EB_TALLY_BINS; i++)
    ok = eb_json_add_number(bins, f->bin[i]) && ok;
  if (eb_json_set(made, "histogram", bins) && ok)
    return made;
  eb_json_destroy(made);
  return NULL;
}

static eb_json *findings_json(const eb_tally *t)
{
  eb_json *list = eb_json_array();
  bool ok = list != NULL;
  for (int i = 0; ok && i < t->findings; i++) {
    eb_json *one = eb_json_object();
    ok = eb_json_set_number(one, "engines", t->finding[i].engines) &&
         eb_json_set_number(one, "first_seed", (double)t->finding[i].seed) &&
         eb_json_set_string(one, "what", t->finding[i].text);
    ok = eb_json_add(list, one) && ok;
  }
  if (ok)
    return list;
  eb_json_destroy(list);
  return NULL;
}

bool eb_tally_add_json(const eb_tally *t, eb_json *object)
{
  bool ok = true;
  for (int end = 0; ok && end < EB_REHEARSAL_ENDS; end++)
    ok = eb_json_set_number(object, eb_rehearsal_end_word((eb_rehearsal_end)end), t->ended[end]);
  ok = ok && eb_json_set_number(object, "claims", t->claims) && eb_json_set_number(object, "wrong", t->wrong) &&
       eb_json_set_number(object, "worse", t->worse);
  for (int what = 0; ok && what < EB_FIGURES; what++)
    ok = eb_json_set(object, t->figures[what].word, figures_json(&t->figures[what]));
  return ok && eb_json_set(object, "found", findings_json(t)) && eb_json_set_number(object, "unlisted", t->unlisted);
}
