/* What an author is told who writes options, numbering or a layout wrongly: the line, what was met, what is right. */
#include "job_rig.h"

/* The error of a procedure whose first lines are these, run up to its first ask; line 1 is `return procedure {`. */
static eb_status fails(const char *lines, eb_error *error)
{
  char text[4096];
  snprintf(text, sizeof text,
           "return procedure {\nid = 'mine', version = '1', api = 1, title = 'Mine',\n%s\n"
           "run = function(job) job:stop_engine() end }",
           lines);
  job j = {.host = *eb_host_system(), .runner = eb_script_runner(NULL)};
  snprintf(j.path, sizeof j.path, "/tmp/eb-author-%d.jsonl", (int)getpid());
  unlink(j.path);
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_source main = {.name = "mine.lua", .text = text, .size = strlen(text)};
  eb_json *inputs = NULL;
  static const char given[] = "{\"engine_file\":{\"layout\":{\"n\":7}}}";
  bool asks = strstr(lines, "options") != NULL;
  if (asks)
    assert_int_equal(eb_json_parse(given, strlen(given), &inputs, NULL), EB_OK);
  eb_session_options options = {.id = "a",
                                .path = j.path,
                                .program = "test",
                                .runner = &j.runner,
                                .main = &main,
                                .library = library,
                                .library_count = count,
                                .inputs = inputs};
  *error = (eb_error){.status = EB_OK};
  eb_status status = eb_session_start(&j.host, &options, &j.session, error);
  /* Once the journal is there, the failure is a message. */
  if (status == EB_OK && eb_session_where(j.session) == EB_SESSION_FAILED) {
    const eb_json *message;
    status = EB_SCRIPT;
    while ((message = eb_session_next(j.session)) != NULL)
      if (strcmp(eb_json_get_string(message, "type", ""), "end") == 0)
        snprintf(error->message, sizeof error->message, "%s", eb_json_get_string(message, "summary", ""));
  }
  eb_json_destroy(inputs);
  job_finish(&j);
  return status;
}

#define N "{ id = 'n', title = 'N', text = 'How many?', low = 1, high = 9 }"
#define WITH(lines) "options = { " N " }, layout = function(given)\n" lines "\nend,"

static void wrong_options_name_the_procedure(void **state)
{
  (void)state;
  static const struct {
    const char *lines, *message;
    int line; /* 0: that of the field */
  } wrong[] = {
      {"options = {}, layout = { rows = { { 1 } } },",
       "procedure: options are answered before the layout; write layout = function(given) return { ... } end", 0},
      {"", "procedure: layout is missing; write layout = { rows = ..., adjusters = ... }", 1},
      {"options = { { id = 'n', title = 'N', low = 1, high = 2 } }, layout = function() end,",
       "option 1: text is missing; write text = \"...\"", 0},
      {"options = { { id = 'N 1', title = 'N', text = 'N?', low = 1, high = 2 } }, layout = function() end,",
       "option 1: id \"N 1\" is to be small letters, digits and _, such as \"cylinders\"", 0},
      {"options = { { id = '1n', title = 'N', text = 'N?', low = 1, high = 2 } }, layout = function() end,",
       "option 1: id \"1n\" is to be small letters, digits and _, such as \"cylinders\"", 0},
      {"options = { { id = 'n', title = 'N', text = 'N?' } }, layout = function() end,",
       "option 1: write choices = { { id = ..., text = ... }, ... }, or low and high of a number", 0},
      {"options = { { id = 'n', title = 'N', text = 'N?', choices = {}, low = 1 } }, layout = function() end,",
       "option 1: it has choices and low or high; it is one or the other", 0},
      {"options = { { id = 'n', title = 'N', text = 'N?', choice = {} } }, layout = function() end,",
       "option 1 has no field \"choice\"; did you mean choices?", 0},
      {"options = { { id = 'n', title = 'N', text = 'N?', choices = { { id = 'a', text = 'A' } } } }, layout = "
       "function() end,",
       "option \"n\": options is to be a list of 2 to 24, each with id and text", 1},
      {"options = { " N ", " N " }, layout = function() end,", "there are two options \"n\"", 1},
      {"options = { { id = 'n', title = 'N', text = 'N?', low = 9, high = 1 } }, layout = function() end,",
       "option \"n\": low and high are to be numbers, low below high", 1},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_error error;
    if (fails(wrong[i].lines, &error) != EB_SCRIPT || strcmp(error.message, wrong[i].message) != 0 ||
        strcmp(error.place, wrong[i].line == 1 ? "mine.lua:1" : "mine.lua:3") != 0)
      fail_msg("%s: %s: %s", wrong[i].lines, error.place, error.message);
  }
}

/* Wrong only once the answers are there: the run ends with the line. */
static void wrong_layouts_name_their_line(void **state)
{
  (void)state;
  static const struct {
    const char *lines, *message;
  } wrong[] = {
      {WITH("return { rows = numbering('odd-lefd', 8), adjusters = {} }"),
       "mine.lua:4: numbering: there is no scheme \"odd-lefd\"; did you mean \"odd-left\"?"},
      {WITH("return { rows = numbering('firing order', 8), adjusters = {} }"),
       "mine.lua:4: numbering: there is no scheme \"firing order\"; there are odd-left, odd-right, left-first, "
       "right-first, front-to-rear, rear-to-front"},
      {WITH("\nreturn { rows = numbering('left-first', given.n), adjusters = {} }"),
       "mine.lua:5: numbering: \"left-first\" fills two rows alike, and 7 is an odd number; take an even one, or a "
       "scheme of one row"},
      {WITH("return { rows = numbering('front-to-rear', 25), adjusters = {} }"),
       "mine.lua:4: numbering: 25 cylinders cannot be; write a whole number from 1 to 24"},
      {WITH("return { rows = numbering('front-to-rear', 2.5), adjusters = {} }"),
       "mine.lua:4: numbering: 2.5 cylinders cannot be; write a whole number from 1 to 24"},
      {WITH("return { rows = numbering('front-to-rear'), adjusters = {} }"),
       "mine.lua:4: numbering: nil cylinders cannot be; write a whole number from 1 to 24"},
      {WITH("return { rows = { stations({ 1, 2, 3 }, 2, 4) }, adjusters = {} }"),
       "mine.lua:4: stations: from 2 to 4 is no part of a row of 3"},
      {WITH("return { rows = { stations(1, 2) }, adjusters = {} }"),
       "mine.lua:4: stations: a list is needed, such as { 1, 2, 3, 4 }"},
      {WITH("return { rows = { { 1 } }, adjusters = { plates { 1 } } }"),
       "mine.lua:4: plates: a row: a list is needed, such as { 1, 2, 3, 4 }"},
      {WITH("return { rows = { { 1 } }, adjusters = { 1 } }"),
       "mine.lua:4: layout: entry 1 of adjusters is no adjuster; write link { ... }, coupler { ... } or another kind"},
      {WITH("local rows = numbering('front-to-rear', 8)\nreturn { rows = rows, adjusters = { link { 'l', rows[1], "
            "rows[2] } } }"),
       "mine.lua:5: link \"l\" joins two sides; write link { \"l\", { 1, 3 }, { 2, 4 } }"},
      {WITH("local x = given.m.y"), "mine.lua:4: attempt to index a nil value (field 'm')"},
      {WITH(""), "mine.lua:3: the function of the layout is to return a table: return { rows = ..., adjusters = ... }"},
      {WITH("return {\nrows = { { 1, 2 } },\nadjusters = {\nlink { 'l', { 1 }, { 3 } } } }"),
       "mine.lua:7: adjuster \"l\" names bore 3; this layout has the bores 1 2"},
      {WITH("return { rows = { { 1, 1 } }, adjusters = {} }"),
       "mine.lua:4: bore 1 stands twice in the rows; each bore has one place"},
  };
  static const char rest[] = "; your answers are safe, the session can be resumed";
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_error error;
    char wanted[700];
    snprintf(wanted, sizeof wanted, "%s%s", wrong[i].message, rest);
    if (fails(wrong[i].lines, &error) != EB_SCRIPT || strcmp(error.message, wanted) != 0)
      fail_msg("%s: %s", wrong[i].lines, error.message);
  }
}

static void the_option_of_numbering_is_for_one_row_or_two(void **state)
{
  (void)state;
  eb_error error;
  assert_int_equal(fails("options = { numbering_option(3) }, layout = function() end,", &error), EB_SCRIPT);
  assert_string_equal(error.message, "numbering_option: there are schemes for 1 and for 2 rows, none for 3");
  assert_string_equal(error.place, "mine.lua:3");
}

static void a_right_one_asks(void **state)
{
  (void)state;
  eb_error error;
  assert_int_equal(fails(WITH("return { rows = numbering('front-to-rear', given.n), adjusters = plates "
                              "{ { 1, 2 } } }"),
                         &error),
                   EB_OK);
  assert_int_equal(fails("layout = function() return { rows = { { 1, 2 } } } end,", &error), EB_OK);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(wrong_options_name_the_procedure),
      cmocka_unit_test(wrong_layouts_name_their_line),
      cmocka_unit_test(the_option_of_numbering_is_for_one_row_or_two),
      cmocka_unit_test(a_right_one_asks),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
