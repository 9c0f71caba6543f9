/* The shelf and whom a shop trusts: what comes on it, what does not and why, and what of it is kept. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "share/shelf_rig.h"

static void what_comes_stands_there(void **state)
{
  (void)state;
  shop s;
  bool there = true;
  eb_bundle bundle;
  eb_maker_key nine = rig_key(1, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_standing(&s, &nine), EB_UNKNOWN_MAKER);
  assert_int_equal(rig_add_as(&s, &nine, "twin-nine", "1.0.0", 1, &there), EB_OK);
  assert_false(there);
  assert_int_equal(rig_standing(&s, &nine), EB_UNTRUSTED_MAKER);
  assert_int_equal(rig_add_as(&s, &nine, "twin-nine", "1.0.0", 1, &there), EB_OK);
  assert_true(there);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.1.0", 2), EB_OK);
  shop_reopen(&s);
  assert_int_equal(eb_shelf_find(s.shelf, "twin-nine", &bundle, NULL, &s.error), EB_OK);
  assert_string_equal(bundle.manifest.version, "1.1.0");
  eb_bundle_clear(&bundle);
  assert_int_equal(eb_shelf_find(s.shelf, "twin-nine@1.0.0", &bundle, NULL, &s.error), EB_OK);
  assert_int_equal(bundle.manifest.revision, 1);
  eb_bundle_clear(&bundle);
  assert_int_equal(eb_shelf_find(s.shelf, "twin-nine@3", &bundle, NULL, &s.error), EB_NOT_FOUND);
  assert_non_null(strstr(s.error.message, "1.0.0, 1.1.0"));
  assert_int_equal(eb_shelf_find(s.shelf, "twin", &bundle, NULL, &s.error), EB_NOT_FOUND);
  shop_end(&s);
}

static void what_goes_leaves_its_revision_known(void **state)
{
  (void)state;
  shop s;
  char spec[EB_SHELF_SPEC_SIZE];
  eb_maker_key nine = rig_key(1, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.0.0", 1), EB_OK);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.1.0", 2), EB_OK);
  assert_int_equal(eb_shelf_remove(s.shelf, "twin-nine", spec, &s.error), EB_BAD_VALUE);
  assert_int_equal(eb_shelf_remove(s.shelf, "twin-nine@1.1.0", spec, &s.error), EB_OK);
  assert_string_equal(spec, "twin-nine@1.1.0");
  shop_reopen(&s);
  assert_int_equal(eb_shelf_remove(s.shelf, "twin-nine", spec, &s.error), EB_OK);
  assert_int_equal(eb_shelf_remove(s.shelf, "twin-nine", spec, &s.error), EB_NOT_FOUND);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.0.0", 1), EB_ROLLBACK);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.2.0", 2), EB_VERSION_TAKEN);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.1.0", 2), EB_OK);
  shop_end(&s);
}

static void each_refusal_has_its_reason(void **state)
{
  (void)state;
  shop s;
  eb_maker_key nine = rig_key(1, "Bench Nine"), other = rig_key(2, "Yard Four");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &nine, "twin-link", "2.0.0", 5), EB_OK);
  assert_int_equal(rig_add(&s, &nine, "v8-coupled", "1.0.0", 1), EB_SHADOWS);
  assert_int_equal(rig_add(&s, &nine, "vb-coupled", "1.0.0", 1), EB_LOOKALIKE);
  assert_int_equal(rig_add(&s, &other, "twin-1ink", "1.0.0", 1), EB_LOOKALIKE);
  assert_int_equal(rig_add(&s, &nine, "twinlink", "1.0.0", 1), EB_LOOKALIKE);
  assert_int_equal(rig_add(&s, &other, "twin-link", "1.0.0", 1), EB_OTHER_MAKER);
  assert_int_equal(rig_add(&s, &nine, "twin-link", "1.0.0", 4), EB_ROLLBACK);
  assert_int_equal(rig_add(&s, &nine, "twin-link", "2.0.0", 6), EB_VERSION_TAKEN);
  assert_int_equal(rig_add(&s, &nine, "twin-link", "2.1.0", 5), EB_VERSION_TAKEN);
  assert_int_equal(rig_standing(&s, &other), EB_UNKNOWN_MAKER); /* who is refused is not met */
  assert_int_equal(rig_add(&s, &other, "yard-twin", "1.0.0", 1), EB_OK);
  shop_end(&s);
}

/* What is taken in must not keep the list of makers from being read. */
static void a_maker_without_a_right_name_is_not_met(void **state)
{
  (void)state;
  static const char *const names[] = {" Bench Nine", "Bench Nine ", " "};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    shop s;
    eb_maker_key key = rig_key(1, names[i]);
    shop_new(&s);
    shop_open(&s);
    assert_int_equal(rig_add(&s, &key, "twin-nine", "1.0.0", 1), EB_BAD_FORM);
    shop_reopen(&s);
    assert_int_equal(eb_shelf_maker_count(s.shelf), 0);
    shop_end(&s);
  }
}

static void looks(const char *id, const char *other, bool alike)
{
  if (eb_ids_look_alike(id, other) != alike || eb_ids_look_alike(other, id) != alike)
    fail_msg("%s and %s", id, other);
}

static void ids_that_could_be_taken_for_one_another(void **state)
{
  (void)state;
  looks("v8-link", "v8-1ink", true);
  looks("v8-link", "v8-iink", true);
  looks("modern", "modem", true);
  looks("vvide", "wide", true);
  looks("cl0se", "dose", true);
  looks("inline-four", "inlinefour", true);
  looks("v8-coupled", "v8-coupled", false); /* the same is not alike */
  looks("v8-coupled", "v6-coupled", false);
  looks("inline-four", "inline-six", false);
  looks("twin-screw", "twin-link", false);
}

static void trust_is_typed_kept_and_taken_back(void **state)
{
  (void)state;
  shop s;
  eb_known_maker known;
  eb_maker_key nine = rig_key(1, "Bench Nine"), other = rig_key(2, "Bench Nine");
  char wrong[EB_FINGERPRINT_SIZE];
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_trust(&s, &nine), EB_NOT_FOUND);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.0.0", 1), EB_OK);
  eb_fingerprint(&other.secret.public_key, wrong);
  assert_int_equal(eb_shelf_trust(s.shelf, &nine.secret.public_key, wrong, &s.error), EB_FINGERPRINT);
  assert_int_equal(eb_shelf_trust(s.shelf, &nine.secret.public_key, "y", &s.error), EB_FINGERPRINT);
  shop_reopen(&s);
  assert_int_equal(rig_standing(&s, &nine), EB_UNTRUSTED_MAKER);
  assert_int_equal(rig_trust(&s, &nine), EB_OK);
  shop_reopen(&s);
  assert_int_equal(rig_standing(&s, &nine), EB_TRUSTED_MAKER);
  assert_int_equal(rig_add(&s, &other, "yard-twin", "1.0.0", 1), EB_OK);
  assert_int_equal(rig_standing(&s, &other), EB_UNTRUSTED_MAKER); /* a name is not a key */
  assert_int_equal(eb_shelf_find_maker(s.shelf, "Bench Nine", &known, &s.error), EB_BAD_VALUE);
  assert_int_equal(eb_shelf_find_maker(s.shelf, wrong, &known, &s.error), EB_OK);
  assert_true(eb_public_key_equal(&known.maker.key, &other.secret.public_key));
  wrong[5] = '\0';
  assert_int_equal(eb_shelf_find_maker(s.shelf, wrong, &known, &s.error), EB_OK);
  wrong[4] = '\0';
  assert_int_equal(eb_shelf_find_maker(s.shelf, wrong, &known, &s.error), EB_NOT_FOUND);
  assert_int_equal(eb_shelf_distrust(s.shelf, &nine.secret.public_key, &s.error), EB_OK);
  shop_reopen(&s);
  assert_int_equal(rig_standing(&s, &nine), EB_UNTRUSTED_MAKER);
  shop_end(&s);
}

static void a_handover_passes_trust_on(void **state)
{
  (void)state;
  shop s;
  eb_maker_key old = rig_key(1, "Bench Nine"), new = rig_key(2, "Bench Nine"), third = rig_key(3, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &old, "twin-nine", "1.0.0", 7), EB_OK);
  assert_int_equal(rig_handover(&s, &old, &new), EB_OK);
  assert_int_equal(rig_standing(&s, &new), EB_UNTRUSTED_MAKER); /* there was none to pass on */
  assert_int_equal(rig_trust(&s, &old), EB_OK);
  assert_int_equal(rig_standing(&s, &new), EB_TRUSTED_MAKER);
  assert_int_equal(rig_handover(&s, &new, &third), EB_OK);
  shop_reopen(&s);
  assert_int_equal(rig_standing(&s, &third), EB_TRUSTED_MAKER);
  /* The old key signs nothing new; the new one goes on with its ids and revisions. */
  assert_int_equal(rig_add(&s, &old, "twin-nine", "1.1.0", 8), EB_HANDED_OVER);
  assert_int_equal(rig_add(&s, &new, "twin-nine", "1.1.0", 8), EB_HANDED_OVER);
  assert_int_equal(rig_add(&s, &third, "twin-nine", "1.0.1", 6), EB_ROLLBACK);
  assert_int_equal(rig_add(&s, &third, "twin-nine", "1.1.0", 8), EB_OK);
  /* Trust taken back anywhere in the row ends there. */
  assert_int_equal(eb_shelf_distrust(s.shelf, &new.secret.public_key, &s.error), EB_OK);
  assert_int_equal(rig_standing(&s, &old), EB_TRUSTED_MAKER);
  assert_int_equal(rig_standing(&s, &third), EB_UNTRUSTED_MAKER);
  shop_end(&s);
}

static void handovers_that_contradict_are_refused(void **state)
{
  (void)state;
  shop s;
  eb_maker_key a = rig_key(1, "A"), b = rig_key(2, "B"), c = rig_key(3, "C"), d = rig_key(4, "D");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_handover(&s, &a, &b), EB_OK);
  assert_int_equal(rig_handover(&s, &a, &b), EB_OK); /* once more says nothing new */
  assert_int_equal(rig_handover(&s, &a, &c), EB_HANDED_OVER);
  assert_int_equal(rig_handover(&s, &c, &b), EB_HANDED_OVER);
  assert_int_equal(rig_handover(&s, &b, &a), EB_HANDED_OVER);
  assert_int_equal(rig_revoke(&s, &c, &c), EB_OK);
  assert_int_equal(rig_handover(&s, &c, &d), EB_REVOKED);
  assert_int_equal(rig_handover(&s, &b, &c), EB_REVOKED);
  assert_int_equal(rig_standing(&s, &d), EB_UNKNOWN_MAKER);
  shop_end(&s);
}

static void a_revoked_key_is_done_with(void **state)
{
  (void)state;
  shop s;
  eb_maker_key nine = rig_key(1, "Bench Nine"), thief = rig_key(9, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.0.0", 1), EB_OK);
  assert_int_equal(rig_trust(&s, &nine), EB_OK);
  assert_int_equal(rig_revoke(&s, &nine, &thief), EB_STRANGER);
  assert_int_equal(rig_standing(&s, &nine), EB_TRUSTED_MAKER);
  assert_int_equal(rig_revoke(&s, &nine, &nine), EB_OK);
  shop_reopen(&s);
  assert_int_equal(rig_standing(&s, &nine), EB_REVOKED_MAKER);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.1.0", 2), EB_REVOKED);
  assert_int_equal(rig_trust(&s, &nine), EB_REVOKED);
  shop_end(&s);
}

/* The old key was stolen: whoever has it could have signed the handover too, so both orders come to the same. */
static void a_key_that_revoked_itself_passes_nothing_on(void **state)
{
  (void)state;
  eb_maker_key old = rig_key(1, "Bench Nine"), new = rig_key(2, "Bench Nine");
  for (int handover_first = 0; handover_first < 2; handover_first++) {
    shop s;
    shop_new(&s);
    shop_open(&s);
    assert_int_equal(rig_add(&s, &old, "twin-nine", "1.0.0", 1), EB_OK);
    assert_int_equal(rig_trust(&s, &old), EB_OK);
    if (handover_first) {
      assert_int_equal(rig_handover(&s, &old, &new), EB_OK);
      assert_int_equal(rig_standing(&s, &new), EB_TRUSTED_MAKER);
    }
    assert_int_equal(rig_revoke(&s, &old, &old), EB_OK);
    if (!handover_first)
      assert_int_equal(rig_handover(&s, &old, &new), EB_REVOKED);
    assert_int_not_equal(rig_standing(&s, &new), EB_TRUSTED_MAKER);
    assert_int_equal(rig_add(&s, &new, "twin-nine", "1.1.0", 2), handover_first ? EB_OK : EB_OTHER_MAKER);
    if (handover_first) { /* the new one stands by itself once it is heard */
      assert_int_equal(rig_trust(&s, &new), EB_OK);
      assert_int_equal(rig_standing(&s, &new), EB_TRUSTED_MAKER);
    }
    shop_end(&s);
  }
}

/* The maker itself retires the old key, with the one that is trusted by now. */
static void a_successor_may_revoke_and_keeps_its_trust(void **state)
{
  (void)state;
  shop s;
  eb_maker_key old = rig_key(1, "Bench Nine"), new = rig_key(2, "Bench Nine"), third = rig_key(3, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &old, "twin-nine", "1.0.0", 1), EB_OK);
  assert_int_equal(rig_trust(&s, &old), EB_OK);
  assert_int_equal(rig_revoke(&s, &old, &new), EB_STRANGER); /* the handover was not taken in yet */
  assert_int_equal(rig_handover(&s, &old, &new), EB_OK);
  assert_int_equal(rig_revoke(&s, &new, &old), EB_STRANGER); /* not upwards */
  assert_int_equal(rig_handover(&s, &new, &third), EB_OK);
  assert_int_equal(rig_revoke(&s, &old, &third), EB_OK);
  assert_int_equal(rig_standing(&s, &old), EB_REVOKED_MAKER);
  assert_int_equal(rig_standing(&s, &new), EB_TRUSTED_MAKER);
  assert_int_equal(rig_standing(&s, &third), EB_TRUSTED_MAKER);
  /* What the key says of itself weighs more. */
  assert_int_equal(rig_revoke(&s, &old, &old), EB_OK);
  assert_int_equal(rig_standing(&s, &third), EB_UNTRUSTED_MAKER);
  shop_end(&s);
}

static void a_list_that_is_none_is_not_guessed_at(void **state)
{
  (void)state;
  static const char *const texts[] = {"", "{", "[]",
                                      "{\"format\":\"evenbore-makers\",\"version\":1,\"makers\":[{\"name\":\"A\"}]}",
                                      "{\"format\":\"evenbore-makers\",\"version\":2,\"makers\":[]}"};
  shop s;
  char path[128];
  shop_new(&s);
  snprintf(path, sizeof path, "%s/makers.json", s.data);
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
    FILE *file = fopen(path, "w");
    fputs(texts[i], file);
    fclose(file);
    assert_int_not_equal(shop_open_by(&s, eb_host_system(), false), EB_OK);
    assert_null(s.shelf);
  }
  shop_end(&s);
}

static void two_do_not_change_it_at_once(void **state)
{
  (void)state;
  shop s, again;
  shop_new(&s);
  shop_open(&s);
  again = s;
  assert_int_equal(shop_open_by(&again, eb_host_system(), true), EB_HELD);
  again.shelf = NULL;
  assert_int_equal(shop_open_by(&again, eb_host_system(), false), EB_OK);
  shop_close(&again);
  shop_end(&s);
}

/* Somebody changed what lies there: nothing of it is taken for what its name says. */
static void a_file_on_the_shelf_is_verified_each_time(void **state)
{
  (void)state;
  shop s;
  eb_bundle bundle;
  char path[EB_PATH_SIZE] = "", other[EB_PATH_SIZE] = "";
  eb_maker_key nine = rig_key(1, "Bench Nine");
  shop_new(&s);
  shop_open(&s);
  assert_int_equal(rig_add(&s, &nine, "twin-nine", "1.0.0", 1), EB_OK);
  assert_int_equal(rig_add(&s, &nine, "yard-twin", "1.0.0", 1), EB_OK);
  assert_int_equal(eb_shelf_find(s.shelf, "twin-nine", &bundle, path, &s.error), EB_OK);
  eb_bundle_clear(&bundle);
  assert_int_equal(eb_shelf_find(s.shelf, "yard-twin", &bundle, other, &s.error), EB_OK);
  eb_bundle_clear(&bundle);
  assert_int_equal(rename(other, path), 0);
  assert_int_equal(eb_shelf_find(s.shelf, "twin-nine", &bundle, NULL, &s.error), EB_NOT_FOUND);
  assert_int_equal(eb_shelf_find(s.shelf, "yard-twin", &bundle, NULL, &s.error), EB_NOT_FOUND);
  shop_end(&s);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_comes_stands_there),
      cmocka_unit_test(what_goes_leaves_its_revision_known),
      cmocka_unit_test(each_refusal_has_its_reason),
      cmocka_unit_test(a_maker_without_a_right_name_is_not_met),
      cmocka_unit_test(ids_that_could_be_taken_for_one_another),
      cmocka_unit_test(trust_is_typed_kept_and_taken_back),
      cmocka_unit_test(a_handover_passes_trust_on),
      cmocka_unit_test(handovers_that_contradict_are_refused),
      cmocka_unit_test(a_revoked_key_is_done_with),
      cmocka_unit_test(a_key_that_revoked_itself_passes_nothing_on),
      cmocka_unit_test(a_successor_may_revoke_and_keeps_its_trust),
      cmocka_unit_test(a_list_that_is_none_is_not_guessed_at),
      cmocka_unit_test(two_do_not_change_it_at_once),
      cmocka_unit_test(a_file_on_the_shelf_is_verified_each_time),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
