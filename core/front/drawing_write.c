/* The procedure that a drawing becomes. */
#include "drawing.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void add_bore(eb_text *text, const char *bore)
{
  bool number = bore[0] != '0' && strspn(bore, "0123456789") == strlen(bore) && strlen(bore) <= 4;
  eb_text_printf(text, number ? "%s" : "\"%s\"", bore);
}

static void add_bores(eb_text *text, const eb_drawing *d, eb_bores bores)
{
  const char *lead = "{ ";
  for (int i = 0; i < d->bore_count; i++)
    if (bores >> i & 1) {
      eb_text_add(text, lead);
      add_bore(text, d->bore[i]);
      lead = ", ";
    }
  eb_text_add(text, " }");
}

static eb_bores row_bores(const eb_drawing *d, int row)
{
  eb_bores all = 0;
  for (int i = 0; i < d->row_size[row]; i++)
    all |= (eb_bores)1 << (d->row_start[row] + i);
  return all;
}

static void add_rows(eb_text *text, const eb_drawing *d)
{
  bool titled = false;
  eb_text_add(text, "    rows = {\n");
  for (int row = 0; row < d->row_count; row++) {
    eb_text_add(text, "      ");
    add_bores(text, d, row_bores(d, row));
    eb_text_add(text, ",\n");
    titled = titled || d->row_title[row][0] != '\0';
  }
  eb_text_add(text, "    },\n");
  for (int row = 0; titled && row < d->row_count; row++)
    eb_text_printf(text, "%s\"%s\"%s", row == 0 ? "    row_titles = { " : ", ", d->row_title[row],
                   row + 1 == d->row_count ? " },\n" : "");
}

static bool is_known(const char *kind)
{
  static const char *const kinds[] = {"link", "coupler", "screw", "bleed", "plate"};
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (strcmp(kinds[i], kind) == 0)
      return true;
  return false;
}

static void add_names(eb_text *text, const eb_drawing *d, eb_bores bores)
{
  const char *lead = "";
  for (int i = 0; i < d->bore_count; i++)
    if (bores >> i & 1) {
      eb_text_printf(text, "%s%s", lead, d->bore[i]);
      lead = " ";
    }
}

/* The tuner tells parts of one kind apart by their titles; "plate of bore 7" is the library's own. */
static void add_title(eb_text *text, const eb_drawing *d, const eb_drawn_part *part)
{
  int alike = 0;
  for (int i = 0; i < d->part_count; i++)
    alike += strcmp(d->part[i].kind, part->kind) == 0;
  bool one = part->second == 0 && (part->first & (part->first - 1)) == 0;
  if (one || alike < 2)
    return;
  eb_text title;
  eb_text_init(&title, text->host);
  eb_text_printf(&title, "%s %s ", part->kind, part->second == 0 ? "of" : "between");
  add_names(&title, d, part->first);
  if (part->second != 0) {
    eb_text_add(&title, " and ");
    add_names(&title, d, part->second);
  }
  bool fits = title.size < sizeof((eb_adjuster *)NULL)->title;
  eb_text_printf(text, ",\n        title = \"%s\"", fits ? eb_text_string(&title) : part->id);
  text->failed = text->failed || title.failed;
  eb_text_clear(&title);
}

static void add_part(eb_text *text, const eb_drawing *d, const eb_drawn_part *part)
{
  eb_text_printf(text, "      %s { \"%s\", ", is_known(part->kind) ? part->kind : "adjuster", part->id);
  add_bores(text, d, part->first);
  if (part->second != 0) {
    eb_text_add(text, ", ");
    add_bores(text, d, part->second);
  }
  add_title(text, d, part);
  if (!is_known(part->kind))
    eb_text_printf(text,
                   ", kind = \"%s\",\n"
                   "        effort = 5, stopped = true, -- minutes of one use; whether the engine must stand\n"
                   "        how = \"Mark where it stands, then move it a little.\"",
                   part->kind);
  eb_text_add(text, " },\n");
}

void eb_drawing_write(const eb_drawing *d, const char *id, const char *title, const char *numbering, eb_text *text)
{
  eb_text_printf(text,
                 "-- %s\n-- All that can be written here: evenbore manual api. Then: evenbore check, evenbore "
                 "rehearse.\nreturn procedure {\n  id = \"%s\", version = \"1.0.0\", api = 1,\n  title = \"%s\",\n\n"
                 "  layout = {\n    -- Bores by cylinder number, each row from the front of the engine to its "
                 "rear.\n",
                 title, id, title);
  if (numbering != NULL)
    eb_text_printf(text, "    -- Numbered by the scheme \"%s\".\n", numbering);
  add_rows(text, d);
  eb_text_add(text, "    -- What can be adjusted: its id, the bores that it raises, the bores that it lowers.\n"
                    "    -- More of each: title = \"...\", effort = minutes, takes_off = { \"part\" }, how = \"...\".\n"
                    "    adjusters = {\n");
  for (int i = 0; i < d->part_count; i++)
    add_part(text, d, &d->part[i]);
  eb_text_add(text, "    },\n  },\n\n  -- What this engine is to have, where it is known:\n"
                    "  -- idle_rpm = 900, warm_c = 75, idle_by = \"what sets the idle of all rows alike\",\n\n"
                    "  run = function(job)\n"
                    "    job:prepare() -- cautions, cold checks, gauge, warm and steady, idle\n"
                    "    job:balance() -- pass, verdict, plan, adjust, until the claim holds\n"
                    "    job:finish()  -- part throttle, sensor, cross-check, everything back on\n  end,\n}\n");
}
