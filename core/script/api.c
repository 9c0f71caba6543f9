/* The table behind api.h.  Whoever adds a call or a field to procedures/lib adds its row here: the library's checks go
 * by these rows, so that a field without one is refused, and a test compares the calls. */
#include "evenbore/api.h"

#include <string.h>

#define FIELDS(list) (list), sizeof(list) / sizeof((list)[0])
#define NEEDED NULL

static const eb_api_field procedure[] = {
    {"id", "text", "", NEEDED, 0, 0, "small letters, digits and hyphens; stands in every record"},
    {"version", "text", "", NEEDED, 0, 0, "of this file, such as \"1.0.0\""},
    {"api", "whole", "", NEEDED, 0, 0, "the level of these calls that the file is written for: 1"},
    {"title", "text", "", NEEDED, 0, 0, "what the tuner reads"},
    {"layout", "layout|function", "", NEEDED, 0, 0,
     "rows of bores and the adjusters on them; with options a function(given) that returns them"},
    {"run", "function", "", NEEDED, 0, 0, "function(job): the work"},
    {"options", "list of option", "", "", 0, 0, "what is asked before the layout is fixed"},
    {"gauge", "gauge", "", "1 to 30 div, read to 0.25", 0, 0, "the gauge that this procedure is for"},
    {"tolerance", "number", "share", "0.05", 0.001, 0.5, "how even it is to be"},
    {"risk", "number", "share", "0.05", 0.001, 0.5, "how likely a claim may be wrong"},
    {"cautions", "texts", "", "", 0, 0, "hazards of this engine, beside those that the core knows"},
    {"plan", "plan", "", "", 0, 0, "how moves are chosen, each time"},
    {"throttle", "throttle|function", "", "", 0, 0,
     "what is known of the throttles; with options also a function(given)"},
    {"cold_tolerance", "number", "share", "0.3", 0.001, 0.5, "how far plates may stand apart cold before they are set"},
    {"warm_c", "number", "C", "75", 20, 130, "warm from this temperature on"},
    {"idle_rpm", "number", "rpm", "asked", 300, 3000, "the idle speed that it is to have"},
    {"idle_by", "text", "", "the common idle stop", 0, 0, "what sets the idle, moving all throttles alike"},
    {"held_rpm", "number", "rpm", "2000", 500, 10000, "the speed of the part-throttle pass"},
};

static const eb_api_field layout[] = {
    {"rows", "rows", "", NEEDED, 0, 0, "rows of bores, each front to rear: { { 1, 3 }, { 2, 4 } }"},
    {"row_titles", "texts", "", "", 0, 0, "a name for each row: { \"left\", \"right\" }"},
    {"adjusters", "adjusters", "", "none", 0, 0, "link { ... }, screw { ... }, plates(rows), ... in any order"},
    {"plate_spread", "number", "share", "0.05", 1e-6, 1, "how far single bores are usually off before any work"},
};

static const eb_api_field adjuster[] = {
    {"1", "text", "", NEEDED, 0, 0, "its id: \"link\""},
    {"2", "bores", "", NEEDED, 0, 0, "the bores that it raises"},
    {"3", "bores", "", "", 0, 0, "the bores that it lowers; without them it moves the first side alone"},
    {"title", "text", "", "by its kind and bores", 0, 0, "what the tuner reads"},
    {"effort", "number", "minutes", "by its kind", 0, 1440, "work of one use"},
    {"stopped", "flag", "", "by its kind", 0, 0, "whether the engine must stand for it"},
    {"gain", "number", "", "1", 0.25, 4, "what becomes of a wished change"},
    {"gain_spread", "number", "", "0.5", 0, 4, "how uncertain that is"},
    {"spread", "number", "share", "by its kind", 1e-6, 1, "how far its sides are usually apart before any work"},
    {"takes_off", "texts", "", "by its kind", 0, 0, "parts that have to come off for it, in this order"},
    {"how", "text", "", "by its kind", 0, 0, "how it is worked, two lines at most"},
    {"kind", "text", "", "", 0, 0, "of adjuster { ... } alone: the shop's own word, \"wedge\""},
};

static const eb_api_field option[] = {
    {"id", "text", "", NEEDED, 0, 0, "small letters, digits and _: it is read as given.ID"},
    {"title", "text", "", NEEDED, 0, 0, "head of the prompt"},
    {"text", "text", "", NEEDED, 0, 0, "the question"},
    {"why", "text", "", "", 0, 0, "told when the tuner asks why"},
    {"choices", "list of choice", "", "", 0, 0, "2 to 24 to choose from; else low and high of a number"},
    {"low", "number", "", "", 0, 0, "least number that is taken"},
    {"high", "number", "", "", 0, 0, "greatest number that is taken"},
    {"step", "number", "", "", 0, 0, "numbers are this far apart"},
    {"quantity", "text", "", "count", 0, 0, "length, angle, temperature, ..."},
    {"unit", "text", "", "", 0, 0, "of low, high and the answer: \"mm\""},
};

static const eb_api_field choice[] = {
    {"id", "text", "", NEEDED, 0, 0, "what the call gives when it is chosen"},
    {"text", "text", "", NEEDED, 0, 0, "what the tuner reads"},
};

static const eb_api_field gauge[] = {
    {"low", "number", "", "1", 0, 0, "lowest mark of the scale"},
    {"high", "number", "", "30", 0, 0, "highest mark"},
    {"step", "number", "", "0.25", 0, 0, "smallest difference that can be read"},
    {"best", "pair", "", "{ 1, 10 }", 0, 0, "the band where the scale is finest"},
    {"repeatability", "number", "share", "0.02", 0, 0, "how well one reading repeats"},
    {"repeatability_weight", "number", "", "4", 0, 0, "how many differences stand behind that"},
    {"unit", "text", "", "div", 0, 0, "div, kg/h, g/s or lb/h"},
    {"vent", "text", "", "", 0, 0, "its vent setting in the shop's words"},
};

static const eb_api_field throttle[] = {
    {"bore_mm", "number", "mm", "", 10, 500, "inner diameter of the throttle bores"},
    {"shaft_mm", "number", "mm", "", 0, 100, "diameter of the throttle shaft"},
    {"closed_deg", "number", "deg", "", 0, 45, "angle of a closed plate against the plane across the bore"},
    {"pitch_mm", "number", "mm", "", 0.1, 10, "how far a screw goes in one turn"},
    {"lever_mm", "number", "mm", "", 1, 500, "from the middle of the shaft to where the screw pushes"},
    {"unit", "text", "", "the shop's", 0, 0, "\"mm\" or \"thou\", that amounts are told in"},
    {"idle", "any", "", "", 0, 0, "by bore: { [\"1\"] = { gap_mm = 0.05 } } or { travel_mm = 0.4 }"},
};

static const eb_api_field plan[] = {
    {"method", "text", "", "least-effort", 0, 0, "\"least-effort\" or \"trade-order\": side, then pair, then bore"},
    {"one_at_a_time", "flag", "", "false", 0, 0, "one adjuster for each engine stop"},
    {"least_move", "number", "share", "0.02", 1e-6, 1, "smallest move that is worth it"},
    {"stop_effort", "number", "minutes", "12", 0, 1440, "work of stopping, starting and measuring once"},
    {"reads_max", "whole", "", "16", 1, 100, "readings of one bore from one start to the next"},
    {"attempts_max", "whole", "", "12", 0, 1000, "stops with moves before it gives up"},
    {"without", "texts", "", "", 0, 0, "ids of adjusters that are not to be used"},
};

/* What every prompt has. */
#define PROMPT                                                                                                         \
  {"key", "text", "", NEEDED, 0, 0, "its name in the record, such as \"cold.shims\""},                                 \
      {"title", "text", "", NEEDED, 0, 0, "head of the prompt"},                                                       \
      {"text", "text", "", NEEDED, 0, 0, "what is to be done or said: two lines, 160 characters at most"},             \
      {"why", "text", "", "", 0, 0, "told when the tuner asks why"},                                                   \
  {                                                                                                                    \
    "stage", "text", "", "that of job:stage", 0, 0, "where in the job it stands"                                       \
  }
#define HANDS                                                                                                          \
  {                                                                                                                    \
    "hands", "flag", "", "false", 0, 0, "hands go to the throttles: the cautions for that come first"                  \
  }
#define KEEPS                                                                                                          \
  {                                                                                                                    \
    "perishable", "flag", "", "false", 0, 0, "asked again when a session is taken up after a pause"                    \
  }
#define PARTS                                                                                                          \
  {"default", "flag", "", "", 0, 0, "what an empty line means"},                                                       \
      {"takes_off", "texts", "", "", 0, 0, "parts that are off once it is answered with yes"},                         \
      {"refits", "texts", "", "", 0, 0, "parts that are on again once it is answered with yes"},                       \
  {                                                                                                                    \
    "snaps", "flag", "", "false", 0, 0, "answered with yes the throttle was opened and let go"                         \
  }

static const eb_api_field caution[] = {
    PROMPT,
    {"hazards", "texts", "", NEEDED, 0, 0, "one line each"},
    {"critical", "flag", "", "false", 0, 0, "shown again when a session is taken up after a pause"},
    {"applies", "text", "", "always", 0, 0, "\"running\" or \"stopped\": when it is shown again"},
};
static const eb_api_field confirm[] = {PROMPT, HANDS, KEEPS, PARTS};
static const eb_api_field must[] = {
    PROMPT, {"otherwise", "text", "", NEEDED, 0, 0, "what is to be done first, told after a no"}, HANDS, KEEPS, PARTS,
};
static const eb_api_field choose[] = {
    PROMPT,
    {"options", "list of choice", "", NEEDED, 0, 0, "2 to 24 to choose from"},
    HANDS,
    KEEPS,
};
static const eb_api_field number[] = {
    PROMPT,
    {"quantity", "text", "", NEEDED, 0, 0,
     "temperature, pressure, engine-speed, length, angle, time, ratio, voltage, count or flow"},
    {"unit", "text", "", NEEDED, 0, 0, "of low, high and what the call gives; the tuner may type another"},
    {"low", "number", "", NEEDED, 0, 0, "least number that is taken"},
    {"high", "number", "", NEEDED, 0, 0, "greatest number that is taken"},
    {"step", "number", "", "", 0, 0, "numbers are this far apart"},
    {"holds", "pair", "", "", 0, 0, "{ low, high }: taken again after a pause only in there"},
    HANDS,
    KEEPS,
};
static const eb_api_field line[] = {
    PROMPT,
    {"limit", "whole", "", "200", 1, 2000, "characters at most"},
    HANDS,
    KEEPS,
};
static const eb_api_field tell[] = {
    {"text", "text", "", NEEDED, 0, 0, "what is told"},
    {"kind", "text", "", "note", 0, 0, "\"note\" or \"caution\""},
};
static const eb_api_field move[] = {
    {"adjuster", "text", "", NEEDED, 0, 0, "its id"},
    {"move", "number", "", NEEDED, -1, 1, "wished change: 0.05 is 5 % more on the first side than on the second"},
    {"amount", "any", "", "", 0, 0, "as a plan's move has it: { value =, unit =, what = }"},
    {"share", "any", "", "", 0, 0, "as a plan's move has it; told anew by the core"},
    {"expected", "number", "", "", 0, 0, "as a plan's move has it"},
};

static const eb_api_field baseline[] = {
    {"required", "flag", "", "false", 0, 0,
     "the plates are to be measured here; \"written down elsewhere\" is no answer"},
};

static const eb_api_field verdict[] = {
    {"word", "text", "", NEEDED, 0, 0, "\"even\", \"uneven\" or \"unsure\""},
    {"claim", "number", "share", NEEDED, 0, 0, "the least tolerance that the readings prove"},
    {"tolerance", "number", "share", NEEDED, 0, 0, "that is wanted"},
    {"risk", "number", "share", NEEDED, 0, 0, "that the claim is wrong"},
    {"spread", "number", "share", NEEDED, 0, 0, "greatest deviation from the mean"},
    {"worst", "text", "", NEEDED, 0, 0, "the bore that has it"},
    {"probability", "number", "", NEEDED, 0, 0, "that all bores are within, at least"},
    {"repeatability", "number", "share", NEEDED, 0, 0, "of one reading, as the readings show it"},
    {"degrees_of_freedom", "number", "", NEEDED, 0, 0, "behind it, 10000 at most"},
    {"condition", "text", "", NEEDED, 0, 0, "\"idle\", or what job:pass was given"},
    {"bores", "any", "", NEEDED, 0, 0, "by bore: value, readings, deviation, doubt, probability, word"},
    {"contrasts", "any", "", NEEDED, 0, 0, "list of { adjuster =, level =, value =, doubt = }"},
};
static const eb_api_field planned[] = {
    {"step", "text", "", NEEDED, 0, 0, "\"done\", \"read\", \"move\" or \"stop\""},
    {"read", "bores", "", NEEDED, 0, 0, "to be read again, where step is \"read\""},
    {"moves", "list of move", "", NEEDED, 0, 0, "for job:adjust, where step is \"move\""},
    {"effort", "number", "minutes", NEEDED, 0, 0, "of the step"},
    {"expected", "any", "", NEEDED, 0, 0, "deviation by bore after it"},
    {"expected_spread", "number", "share", NEEDED, 0, 0, "the greatest of them"},
    {"probability_before", "number", "", NEEDED, 0, 0, "that all are within now"},
    {"probability_after", "number", "", NEEDED, 0, 0, "and after the step"},
    {"reason", "text", "", NEEDED, 0, 0, "in one sentence"},
};
static const eb_api_field state[] = {
    {"engine", "text", "", NEEDED, 0, 0, "\"running\", \"stopped\" or \"unknown\""},
    {"open", "texts", "", NEEDED, 0, 0, "parts that are off"},
    {"pass", "whole", "", NEEDED, 0, 0, "passes so far"},
    {"attempts", "whole", "", NEEDED, 0, 0, "stops with moves so far"},
    {"layout", "any", "", NEEDED, 0, 0, "bores, rows, adjusters"},
    {"gauge", "gauge", "", NEEDED, 0, 0, "as it holds now"},
    {"tolerance", "number", "share", NEEDED, 0, 0, "that is wanted"},
    {"risk", "number", "share", NEEDED, 0, 0, "that a claim may be wrong"},
    {"inputs", "any", "", NEEDED, 0, 0, "what the session was begun with: engine_file, ..."},
    {"readings", "any", "", "", 0, 0, "the last one by bore"},
};
static const eb_api_field job_fields[] = {
    {"cold_tolerance", "number", "share", NEEDED, 0, 0, "how far plates may stand apart cold before they are set"},
    {"warm_c", "number", "C", NEEDED, 0, 0, "warm from this temperature on"},
    {"idle_by", "text", "", NEEDED, 0, 0, "what sets the idle"},
    {"held_rpm", "number", "rpm", NEEDED, 0, 0, "the speed of the part-throttle pass"},
};

static const eb_api_table tables[] = {
    {"procedure", "what the file returns: return procedure { ... }", FIELDS(procedure), false},
    {"layout", "of a procedure, or what its function returns", FIELDS(layout), false},
    {"adjuster", "link, coupler, screw, bleed, plate and adjuster take one", FIELDS(adjuster), false},
    {"option", "one entry of a procedure's options", FIELDS(option), false},
    {"choice", "one entry of choices, or of job:choose's options", FIELDS(choice), false},
    {"gauge", "of a procedure", FIELDS(gauge), false},
    {"throttle", "of a procedure, and of job:throttle", FIELDS(throttle), false},
    {"plan", "of a procedure, and of job:plan", FIELDS(plan), false},
    {"caution", "of job:caution", FIELDS(caution), false},
    {"confirm", "of job:confirm", FIELDS(confirm), false},
    {"must", "of job:must", FIELDS(must), false},
    {"choose", "of job:choose", FIELDS(choose), false},
    {"number_prompt", "of job:number", FIELDS(number), false},
    {"line", "of job:line", FIELDS(line), false},
    {"tell", "of job:tell, where a text alone is not enough", FIELDS(tell), false},
    {"move", "of job:move, and in a list of job:adjust", FIELDS(move), false},
    {"baseline", "of job:baseline", FIELDS(baseline), false},
    {"verdict", "what job:verdict gives", FIELDS(verdict), true},
    {"planned", "what job:plan gives", FIELDS(planned), true},
    {"state", "what job:state gives", FIELDS(state), true},
};

static const eb_api_table job_object = {"job", "fields of job that can be read", FIELDS(job_fields), true};

static const eb_api_field of_adjuster[] = {{"given", "adjuster", "", NEEDED, 0, 0, "{ \"id\", { 1, 3 }, { 5, 7 } }"}};
static const eb_api_field of_procedure[] = {{"given", "procedure", "", NEEDED, 0, 0, "{ id = ..., ... }"}};
static const eb_api_field of_rows[] = {{"rows", "rows", "", NEEDED, 0, 0, "those of the layout"}};
static const eb_api_field of_numbering[] = {
    {"scheme", "text", "", NEEDED, 0, 0,
     "odd-left, odd-right, left-first, right-first, front-to-rear or rear-to-front"},
    {"count", "whole", "", NEEDED, 1, 24, "of cylinders"},
};
static const eb_api_field of_numbering_option[] = {{"rows", "whole", "", NEEDED, 1, 2, "of bores"}};
static const eb_api_field of_stations[] = {
    {"row", "bores", "", NEEDED, 0, 0, "one row of bores"},
    {"from", "whole", "", NEEDED, 0, 0, "station, counted from the front"},
    {"to", "whole", "", "its end", 0, 0, "station"},
};
static const eb_api_field of_caution[] = {{"given", "caution", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_confirm[] = {{"given", "confirm", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_must[] = {{"given", "must", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_choose[] = {{"given", "choose", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_number[] = {{"given", "number_prompt", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_line[] = {{"given", "line", "", NEEDED, 0, 0, "the prompt"}};
static const eb_api_field of_tell[] = {{"given", "text|tell", "", NEEDED, 0, 0, "the text, or a table"}};
static const eb_api_field of_stage[] = {{"name", "text", "", NEEDED, 0, 0, "\"Warm-up\""}};
static const eb_api_field of_parts[] = {{"parts", "texts", "", NEEDED, 0, 0, "{ \"return spring\" }"}};
static const eb_api_field of_engine[] = {{"text", "text", "", "the usual one", 0, 0, "of the prompt"}};
static const eb_api_field of_baseline[] = {{"given", "baseline", "", "", 0, 0, "whether it is the job itself"}};
static const eb_api_field of_period[] = {{"why", "text", "", NEEDED, 0, 0, "\"idle set again\""}};
static const eb_api_field of_leave_out[] = {
    {"bore", "bore", "", NEEDED, 0, 0, "which"},
    {"why", "text", "", NEEDED, 0, 0, "for the record"},
};
static const eb_api_field of_throttle[] = {{"given", "throttle", "", NEEDED, 0, 0, "what is known"}};
static const eb_api_field of_read[] = {
    {"bore", "bore", "", NEEDED, 0, 0, "which"},
    {"text", "text", "", "the usual one", 0, 0, "of the prompt"},
    {"pressed", "flag", "", "false", 0, 0, "the stack is pressed on and its clamp covered by hand meanwhile"},
    {"pushed", "text", "", "not at all", 0, 0,
     "\"open\" or \"shut\": its shaft is pushed lightly, as far as it has play"},
};
static const eb_api_field of_read_again[] = {{"bores", "bores", "", NEEDED, 0, 0, "which"}};
static const eb_api_field of_pass[] = {{"condition", "text", "", "idle", 0, 0, "\"part throttle\""}};
static const eb_api_field of_plan[] = {{"options", "plan", "", "the procedure's", 0, 0, "laid over the procedure's"}};
static const eb_api_field of_adjust[] = {{"moves", "list of move", "", NEEDED, 0, 0, "a plan's moves, or your own"}};
static const eb_api_field of_move[] = {
    {"move", "move", "", NEEDED, 0, 0, "one of a plan's, or your own"},
    {"off", "texts", "", "", 0, 0, "parts that are off already"},
    {"stay", "texts", "", "", 0, 0, "parts that stay off for the next move"},
};
static const eb_api_field of_shown[] = {
    {"quantity", "text", "", NEEDED, 0, 0, "\"temperature\""},
    {"value", "number", "", NEEDED, 0, 0, "the number"},
    {"unit", "text", "", NEEDED, 0, 0, "its unit, \"C\""},
};

static const eb_api_call calls[] = {
    {"", "procedure", FIELDS(of_procedure), "any", "makes the procedure; the file ends with return procedure { ... }"},
    {"", "link", FIELDS(of_adjuster), "adjuster", "a cross link: one row against another, engine stopped"},
    {"", "coupler", FIELDS(of_adjuster), "adjuster", "a coupler: one part of a shaft against the rest, engine stopped"},
    {"", "screw", FIELDS(of_adjuster), "adjuster", "a balance screw between two sides, or a stop screw of one"},
    {"", "bleed", FIELDS(of_adjuster), "adjuster", "an air bleed, engine running"},
    {"", "plate", FIELDS(of_adjuster), "adjuster", "a plate moved on its shaft, engine stopped"},
    {"", "adjuster", FIELDS(of_adjuster), "adjuster", "a kind of your own: also give kind, effort, stopped, how"},
    {"", "plates", FIELDS(of_rows), "adjusters", "one plate for each bore of the rows"},
    {"", "numbering", FIELDS(of_numbering), "rows", "rows of bores, numbered by a scheme"},
    {"", "numbering_option", FIELDS(of_numbering_option), "option",
     "an option that asks for the scheme: given.numbering"},
    {"", "stations", FIELDS(of_stations), "bores", "part of a row, which holds however it is numbered"},

    {"job", "baseline", FIELDS(of_baseline), "", "engine off: linkage, stops, each plate measured cold and set"},
    {"job", "prepare", NULL, 0, "", "baseline, sealing, gauge, start, warm and steady, idle, vent"},
    {"job", "balance", NULL, 0, "", "pass, verdict, plan, adjust, until the claim holds"},
    {"job", "finish", NULL, 0, "", "part throttle, sensor, cross-check, engine off, everything back on"},

    {"job", "stage", FIELDS(of_stage), "", "names the part of the job that the next prompts belong to"},
    {"job", "caution", FIELDS(of_caution), "", "a hazard that has to be acknowledged"},
    {"job", "confirm", FIELDS(of_confirm), "flag", "a question: yes or no"},
    {"job", "must", FIELDS(of_must), "", "asks until the answer is yes"},
    {"job", "choose", FIELDS(of_choose), "text", "a choice: gives its id"},
    {"job", "number", FIELDS(of_number), "number", "a number with its unit"},
    {"job", "line", FIELDS(of_line), "text", "a line of text for the record"},
    {"job", "tell", FIELDS(of_tell), "", "shows a text"},

    {"job", "start_engine", FIELDS(of_engine), "",
     "has it started; nothing where it runs; refused while a part is off"},
    {"job", "stop_engine", FIELDS(of_engine), "", "has it switched off; nothing where it stands"},
    {"job", "warm", NULL, 0, "", "asks the temperature until it is warm and steady"},
    {"job", "set_idle", NULL, 0, "", "has the idle speed set"},
    {"job", "take_off", FIELDS(of_parts), "", "parts come off, one by one; the engine stands for it"},
    {"job", "refit", FIELDS(of_parts), "", "and go on again, last one first"},
    {"job", "throttle", FIELDS(of_throttle), "", "what is known of the throttles: moves then come with amounts"},

    {"job", "pass", FIELDS(of_pass), "", "one trip round all bores, closed at the first"},
    {"job", "read", FIELDS(of_read), "number", "one reading; nil where the bore is left out"},
    {"job", "read_again", FIELDS(of_read_again), "", "some bores once more in the same running period"},
    {"job", "period", FIELDS(of_period), "", "from here on readings do not compare with those before"},
    {"job", "leave_out", FIELDS(of_leave_out), "", "a bore takes no part from here on"},
    {"job", "comparable", NULL, 0, "flag", "whether two bores or more take part"},

    {"job", "verdict", NULL, 0, "verdict", "how even it is, and how sure that is; shows it"},
    {"job", "plan", FIELDS(of_plan), "planned", "the next step with its reason; shows it"},
    {"job", "explain", NULL, 0, "planned", "verdict, what most of the spread is, and plan; shows them, gives the plan"},
    {"job", "adjust", FIELDS(of_adjust), "flag", "makes moves, the engine stopped where one needs it; false: end here"},
    {"job", "move", FIELDS(of_move), "flag", "one move; gives whether it was done"},

    {"job", "cross_check", NULL, 0, "", "heat and mixture against the air, where the shop can measure them"},
    {"job", "state", NULL, 0, "state", "what the core knows"},
    {"job", "shown", FIELDS(of_shown), "text", "a number in the shop's unit, for a text: \"167 F\""},
    {"job", "shown_change", FIELDS(of_shown), "text", "a difference in the shop's unit"},
};

static const char *const language[] = {
    "assert",          "error",        "ipairs",       "math.abs",     "math.ceil",       "math.deg",
    "math.floor",      "math.fmod",    "math.huge",    "math.max",     "math.maxinteger", "math.min",
    "math.mininteger", "math.modf",    "math.pi",      "math.rad",     "math.sqrt",       "math.tointeger",
    "math.type",       "math.ult",     "pairs",        "pcall",        "rawequal",        "rawlen",
    "require",         "select",       "string.byte",  "string.char",  "string.find",     "string.format",
    "string.len",      "string.lower", "string.rep",   "string.split", "string.sub",      "string.trim",
    "string.upper",    "table.concat", "table.insert", "table.remove", "table.sort",      "table.unpack",
    "tonumber",        "tostring",     "type",         "utf8.char",    "utf8.codepoint",  "utf8.codes",
    "utf8.len",        "utf8.offset",
};

const eb_api_table *eb_api_tables(size_t *count)
{
  *count = sizeof tables / sizeof tables[0];
  return tables;
}

const eb_api_call *eb_api_calls(size_t *count)
{
  *count = sizeof calls / sizeof calls[0];
  return calls;
}

const eb_api_table *eb_api_table_find(const char *name)
{
  for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++)
    if (strcmp(tables[i].name, name) == 0)
      return &tables[i];
  return NULL;
}

const eb_api_call *eb_api_call_find(const char *of, const char *name)
{
  for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
    if (strcmp(calls[i].of, of) == 0 && strcmp(calls[i].name, name) == 0)
      return &calls[i];
  return NULL;
}

const char *const *eb_api_language(size_t *count)
{
  *count = sizeof language / sizeof language[0];
  return language;
}

const eb_api_table *eb_api_job_fields(void)
{
  return &job_object;
}
