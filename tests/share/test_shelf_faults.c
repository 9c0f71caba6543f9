/* A shelf on a machine where every call to the disk or for memory fails in turn, or is the last one before the process
 * is killed: what stands there afterwards is the old or the new, never half, and can be changed again. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "journal/faulty_host.h"
#include "share/shelf_rig.h"

#include <sys/wait.h>

static const unsigned char key_of_nine = 1;

typedef struct count {
  int whole, broken;
} count;

static bool count_one(void *context, const char *path, const eb_bundle *bundle, const eb_error *why)
{
  (void)path;
  (void)why;
  count *c = context;
  *(bundle == NULL ? &c->broken : &c->whole) += 1;
  return true;
}

/* What a change is to be seen by, from a shelf that is read anew. */
static int look(shop *s)
{
  count c = {0, 0};
  eb_maker_key nine = rig_key(key_of_nine, "Bench Nine");
  if (shop_open_by(s, eb_host_system(), false) != EB_OK)
    fail_msg("%s: %s", s->error.place, s->error.message);
  assert_int_equal(eb_shelf_list(s->shelf, count_one, &c, &s->error), EB_OK);
  assert_int_equal(c.broken, 0);
  int seen = c.whole * 10 + (int)rig_standing(s, &nine);
  shop_close(s);
  return seen;
}

typedef struct change {
  const char *name;
  eb_status (*make)(shop *s);
} change;

static eb_status add_first(shop *s)
{
  eb_maker_key nine = rig_key(key_of_nine, "Bench Nine");
  return rig_add(s, &nine, "twin-nine", "1.0.0", 1);
}

static eb_status add_second(shop *s)
{
  eb_maker_key nine = rig_key(key_of_nine, "Bench Nine");
  return rig_add(s, &nine, "twin-nine", "1.1.0", 2);
}

static eb_status remove_first(shop *s)
{
  char spec[EB_SHELF_SPEC_SIZE];
  return eb_shelf_remove(s->shelf, "twin-nine@1.0.0", spec, &s->error);
}

static eb_status trust(shop *s)
{
  eb_maker_key nine = rig_key(key_of_nine, "Bench Nine");
  return rig_trust(s, &nine);
}

static eb_status revoke_nine(shop *s)
{
  eb_maker_key nine = rig_key(key_of_nine, "Bench Nine");
  return rig_revoke(s, &nine, &nine);
}

static const change changes[] = {
    {"add", add_second}, {"remove", remove_first}, {"trust", trust}, {"revoke", revoke_nine}};

static void begin(shop *s)
{
  shop_new(s);
  shop_open(s);
  assert_int_equal(add_first(s), EB_OK);
  shop_close(s);
}

/* The change through a host, on a shelf that is opened for it and closed behind it. */
static eb_status make_by(shop *s, const eb_host *host, const change *c)
{
  eb_status status = shop_open_by(s, host, true);
  if (status == EB_OK)
    status = c->make(s);
  shop_close(s);
  return status;
}

static void check(shop *s, const change *c, eb_status status, int before, int after)
{
  int now = look(s);
  if (now != before && now != after)
    fail_msg("%s: %d is neither %d nor %d", c->name, now, before, after);
  if (status == EB_OK)
    assert_int_equal(now, after);
  if (now == before)
    assert_int_equal(make_by(s, eb_host_system(), c), EB_OK);
  assert_int_equal(look(s), after);
}

/* What the change comes to where nothing fails. */
static int outcome(const change *c, int *before)
{
  shop s;
  begin(&s);
  *before = look(&s);
  assert_int_equal(make_by(&s, eb_host_system(), c), EB_OK);
  int after = look(&s);
  assert_int_not_equal(*before, after);
  shop_end(&s);
  return after;
}

static void fail_each(const change *c, faulty_call call, faulty_way way, int failure, int *runs)
{
  int before = 0;
  int after = outcome(c, &before);
  for (int at = 1;; at++, (*runs)++) {
    shop s;
    begin(&s);
    faulty f = {.inner = eb_host_system(), .call = call, .at = at, .onwards = true, .way = way, .failure = failure};
    eb_host host = faulty_host(&f);
    if (call == FAULTY_JSON)
      faulty_json_begin(&f);
    eb_status status = make_by(&s, &host, c);
    if (call == FAULTY_JSON)
      faulty_json_end();
    if (status != EB_OK)
      assert_true(f.failed && s.error.message[0] != '\0');
    check(&s, c, status, before, after);
    shop_end(&s);
    if (!f.failed)
      return;
  }
}

static void every_call_fails_from_some_point_on(void **state)
{
  (void)state;
  static const faulty_call calls[] = {FAULTY_WRITE, FAULTY_RENAME, FAULTY_REMOVE, FAULTY_SYNC,    FAULTY_OPEN,
                                      FAULTY_READ,  FAULTY_LOOK,   FAULTY_LOCK,   FAULTY_ALLOCATE};
  int runs = 0;
  for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
    /* What reads goes the same way whatever the change: once with each is enough. */
    size_t tried = i == 0 ? sizeof calls / sizeof calls[0] : 4;
    for (size_t k = 0; k < tried; k++)
      fail_each(&changes[i], calls[k], FAULTY_FAILS, ENOSPC, &runs);
    fail_each(&changes[i], FAULTY_WRITE, FAULTY_TORN, ENOSPC, &runs);
  }
  printf("%d changes on a machine that failed\n", runs);
  assert_true(runs > 60);
}

/* Trust is the change for which the rig itself makes no JSON. */
static void memory_for_the_list_of_makers_runs_out(void **state)
{
  (void)state;
  int runs = 0;
  fail_each(&changes[2], FAULTY_JSON, FAULTY_FAILS, ENOMEM, &runs);
  assert_true(runs > 20);
}

static void the_process_is_killed_behind_every_call(void **state)
{
  (void)state;
  int kills = 0;
  for (size_t i = 0; i < 2; i++) { /* the two that touch files of two kinds */
    const change *c = &changes[i];
    int before = 0;
    int after = outcome(c, &before);
    bool killed = true;
    for (int last = 1; killed; last++) {
      shop s;
      begin(&s);
      pid_t child = fork();
      assert_true(child >= 0);
      if (child == 0) {
        faulty f = {.inner = eb_host_system(), .last = last, .kill = true};
        eb_host host = faulty_host(&f);
        _exit(make_by(&s, &host, c) == EB_OK ? 0 : 1);
      }
      int ended = 0;
      assert_int_equal(waitpid(child, &ended, 0), child);
      killed = WIFSIGNALED(ended);
      kills += killed;
      if (!killed)
        assert_int_equal(WEXITSTATUS(ended), 0);
      check(&s, c, killed ? EB_IO : EB_OK, before, after);
      shop_end(&s);
    }
  }
  printf("killed %d times\n", kills);
  assert_true(kills > 40);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_call_fails_from_some_point_on),
      cmocka_unit_test(memory_for_the_list_of_makers_runs_out),
      cmocka_unit_test(the_process_is_killed_behind_every_call),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
