/* Throttle: the geometry of one plate in its bore, its stop screw, and how far
 * to move what for a wished relative change of the air.
 *
 * The shop has two ways to say "thousandths", which must never be mixed up.
 * A feeler gap is radial: what fits between plate and bore at the widest point,
 * 90 degrees from the shaft.  Edge travel is axial: how far that same point of
 * the plate moves along the bore.  At idle a thousandth of the first opens
 * four to fifteen times what a thousandth of the second does, so each is a type
 * of its own and there is no conversion between them without a plate. */
#ifndef EVENBORE_THROTTLE_H
#define EVENBORE_THROTTLE_H

#include "evenbore/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_feeler_gap {
  double mm;
} eb_feeler_gap;

typedef struct eb_edge_travel {
  double mm;
} eb_edge_travel;

/* Angles are counted from the plane across the bore, where a plate would stand
 * square to the air. */
typedef struct eb_plate {
  double bore_mm;    /* diameter, > 0 */
  double shaft_mm;   /* diameter, 0 to below bore_mm; 0: no shaft in the way of the air */
  double closed_deg; /* where the plate touches the bore, 0 to below 90 */
} eb_plate;

/* One position of a plate, opened evenly on both halves, said in every way.
 * Travel counts from closed.  The area is that of the bore less the plate's
 * projection along it and the strip of the shaft, exactly (derived in plate.c);
 * friction and the edge's bevel are not in it. */
typedef struct eb_opening {
  double angle_deg; /* closed_deg to 90 */
  eb_feeler_gap gap;
  eb_edge_travel travel;
  double area_mm2;
} eb_opening;

/* The position, from any one way to say it.  EB_OUT_OF_RANGE: a plate that cannot
 * be, or a value that this plate cannot reach, with the range that it can.  Once
 * the plate hides behind the shaft, turning it further opens nothing: an area is
 * given the least angle that has it. */
eb_status eb_opening_at_angle(const eb_plate *plate, double angle_deg, eb_opening *opening, eb_error *error);
eb_status eb_opening_at_gap(const eb_plate *plate, eb_feeler_gap gap, eb_opening *opening, eb_error *error);
eb_status eb_opening_at_travel(const eb_plate *plate, eb_edge_travel travel, eb_opening *opening, eb_error *error);
eb_status eb_opening_at_area(const eb_plate *plate, double wanted_mm2, eb_opening *opening, eb_error *error);

/* Of such a position the one thing alone, which costs a fraction; the same errors. */
eb_status eb_gap_at_angle(const eb_plate *plate, double angle_deg, eb_feeler_gap *gap, eb_error *error);
eb_status eb_area_at_gap(const eb_plate *plate, eb_feeler_gap gap, double *area_mm2, eb_error *error);

/* A screw thread by its name in a shop. */
typedef struct eb_thread {
  const char *name;     /* "M5x0.8", "10-32" */
  const char *standard; /* "ISO 261", "ASME B1.1" */
  double pitch_mm;
} eb_thread;

const eb_thread *eb_threads(size_t *count); /* all that are known; static */

/* By name: `M5` alone is the coarse pitch [ISO 261]; case, spaces, a leading #, a decimal comma and "x1.0"
 * for "x1" are taken as meant.  EB_NOT_FOUND names the nearest.  *thread is static. */
eb_status eb_thread_find(const char *typed, const eb_thread **thread, eb_error *error);

/* A stop or balance screw that pushes on a lever of the shaft. 0 in a member: unknown. */
typedef struct eb_screw {
  double pitch_mm;
  double lever_mm; /* from the shaft's axis to where the screw pushes, square to its push */
} eb_screw;

/* Turns to plate angle and back: angle = pitch turns / lever, for the small angles of an idle stop.
 * EB_NOT_FOUND: pitch or lever is unknown; EB_OUT_OF_RANGE: a negative one, or a number that is not finite. */
eb_status eb_screw_angle(const eb_screw *screw, double turns, double *angle_deg, eb_error *error);
eb_status eb_screw_turns(const eb_screw *screw, double angle_deg, double *turns, eb_error *error);

/* A link that spans a manifold of another metal. */
typedef struct eb_growth {
  double length_mm;      /* that both span, > 0 */
  double arm_mm;         /* of the throttle arm that the link moves, > 0 */
  double rise_k;         /* from when it was balanced to now */
  double manifold_per_k; /* coefficients of linear expansion */
  double link_per_k;
} eb_growth;

/* Aluminium 23e-6 and plain steel 12e-6 per kelvin: round values for alloys, from memory.  Serway and Vuille, College
 * Physics, 9th edition, has 24e-6 for aluminium and 11e-6 for steel (read in a reproduction of its table); lengths and
 * rise are left 0 for the caller. */
eb_growth eb_growth_aluminium_and_steel(void);

/* How far the arms at the two ends turn against one another, degrees: why a cold balance does
 * not hold.  (manifold - link) length rise / arm.  EB_OUT_OF_RANGE. */
eb_status eb_growth_angle(const eb_growth *growth, double *angle_deg, eb_error *error);

typedef enum eb_idle_kind { EB_IDLE_UNKNOWN, EB_IDLE_ANGLE, EB_IDLE_GAP, EB_IDLE_TRAVEL, EB_IDLE_AREA } eb_idle_kind;

/* What is known of an engine's throttles. All zero: nothing is.
 * An unknown shaft may stay 0: at idle openings it covers about the same share of any area (1.2 %
 * where it is 0.3 of the bore), so that a relative change hardly feels it. */
typedef struct eb_throttle {
  eb_plate plate;         /* bore_mm 0: unknown; shaft_mm 0: none or unknown */
  bool closed_known;      /* whether plate.closed_deg is known */
  eb_idle_kind idle_kind; /* the one member of `idle` that is known and read */
  eb_opening idle;        /* the opening at the idle that is balanced */
  eb_screw screw;
} eb_throttle;

/* A wished change of one bore's air, relative (0.06: six per cent more), and
 * the standard deviation of what is wished (verdict.h has it as the doubt). */
typedef struct eb_change {
  double relative;
  double doubt;
} eb_change;

/* Amounts: `low` and `high` belong to the change less and plus two doubts (about 95 % [JCGM 100:2008, 6.3.3]), cut to
 * what the plate can do between closed and open.  Negative: towards closed. */
typedef struct eb_gap_change {
  eb_feeler_gap low, nominal, high;
} eb_gap_change;
typedef struct eb_travel_change {
  eb_edge_travel low, nominal, high;
} eb_travel_change;
typedef struct eb_turns_change {
  double low_turns, nominal_turns, high_turns;
} eb_turns_change;

/* Which of the plate moves: both halves as the shaft turns, or one half that is bent while the other stays. */
typedef enum eb_halves { EB_BOTH_HALVES, EB_ONE_HALF } eb_halves;

/* How far to move for a change.  They assume that all of the bore's air passes
 * the plate, that flow is choked so that it follows the open area alone (the
 * manifold below 0.53 of the outside pressure, where an idling engine with one
 * throttle a bore is for most of its cycle), and that the discharge coefficient
 * stays; in gaps so thin friction changes it.  So it is the size of a first
 * move: what is then measured takes over.
 * EB_NOT_FOUND: geometry that the answer needs is unknown, and which; nothing is
 * assumed in its place.  EB_OUT_OF_RANGE: impossible geometry, or a change that
 * this plate cannot make.
 *   gap     needs an idle gap alone, or the bore and an idle area, or bore, closed angle and any idle opening
 *   travel  needs bore, closed angle and any idle opening
 *   turns   needs these, and the screw's pitch and lever */
eb_status eb_throttle_gap_change(const eb_throttle *throttle, eb_change change, eb_halves halves, eb_gap_change *amount,
                                 eb_error *error);
eb_status eb_throttle_travel_change(const eb_throttle *throttle, eb_change change, eb_halves halves,
                                    eb_travel_change *amount, eb_error *error);
eb_status eb_throttle_turns_change(const eb_throttle *throttle, eb_change change, eb_turns_change *amount,
                                   eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
