/* The least effort as a mixed-integer program for GLPK. */
#ifndef EVENBORE_TESTS_MIXED_INTEGER_H
#define EVENBORE_TESTS_MIXED_INTEGER_H

#include "evenbore/layout.h"

#include <glpk.h>

/* What eb_plan_least_effort is asked. */
typedef struct instance {
  eb_layout layout;
  eb_bores counted;
  double deviation[EB_BORES_MAX];
  double bound, least_move;
  double most_move; /* no move needs to be larger; the tighter, the easier for the program */
} instance;

/* Columns of an adjuster: move up, move down, used up, used down; and last the common level. */
static inline int mixed_column(int adjuster, int which)
{
  return 1 + 4 * adjuster + which;
}

static inline void mixed_add_row(glp_prob *mip, int count, const int *at, const double *value, int kind, double low,
                                 double high)
{
  int row = glp_add_rows(mip, 1);
  glp_set_row_bnds(mip, row, kind, low, high);
  glp_set_mat_row(mip, row, count, at, value);
}

static inline void mixed_add_adjuster(glp_prob *mip, const instance *given, int k)
{
  for (int which = 0; which < 2; which++) {
    int move = mixed_column(k, which), used = mixed_column(k, 2 + which);
    glp_set_col_bnds(mip, move, GLP_DB, 0, given->most_move);
    glp_set_col_kind(mip, used, GLP_BV);
    glp_set_obj_coef(mip, used, given->layout.adjuster[k].effort_min);
    int at[] = {0, move, used};
    double most[] = {0, 1, -given->most_move}, least[] = {0, 1, -given->least_move};
    mixed_add_row(mip, 2, at, most, GLP_UP, 0, 0);
    mixed_add_row(mip, 2, at, least, GLP_LO, 0, 0);
  }
  int at[] = {0, mixed_column(k, 2), mixed_column(k, 3)};
  double one[] = {0, 1, 1};
  mixed_add_row(mip, 2, at, one, GLP_UP, 0, 1);
}

static inline void mixed_add_bore(glp_prob *mip, const instance *given, int bore, int level)
{
  int at[2 * EB_ADJUSTERS_MAX + 2], count = 0;
  double value[2 * EB_ADJUSTERS_MAX + 2];
  for (int k = 0; k < given->layout.adjuster_count; k++) {
    double effect = eb_adjuster_effect(&given->layout.adjuster[k], bore);
    if (!(effect < 0 || effect > 0))
      continue;
    at[++count] = mixed_column(k, 0);
    value[count] = effect;
    at[++count] = mixed_column(k, 1);
    value[count] = -effect;
  }
  at[++count] = level;
  value[count] = -1;
  double e = given->deviation[bore];
  if (given->bound > 0)
    mixed_add_row(mip, count, at, value, GLP_DB, -given->bound - e, given->bound - e);
  else
    mixed_add_row(mip, count, at, value, GLP_FX, -e, -e);
}

/* Owned by the caller, for glp_delete_prob. */
static inline glp_prob *mixed_integer_make(const instance *given)
{
  glp_prob *mip = glp_create_prob();
  glp_set_obj_dir(mip, GLP_MIN);
  int level = glp_add_cols(mip, 4 * given->layout.adjuster_count + 1) + 4 * given->layout.adjuster_count;
  glp_set_col_bnds(mip, level, GLP_FR, 0, 0);
  for (int k = 0; k < given->layout.adjuster_count; k++)
    mixed_add_adjuster(mip, given, k);
  for (int i = 0; i < given->layout.bore_count; i++)
    if (given->counted >> i & 1)
      mixed_add_bore(mip, given, i, level);
  return mip;
}

/* Presolved, to the proven optimum, and nothing said about it: what is left to choose are cuts and branching. */
static inline glp_iocp mixed_integer_settings(void)
{
  glp_iocp how;
  glp_init_iocp(&how);
  how.presolve = GLP_ON;
  how.msg_lev = GLP_MSG_OFF;
  how.tol_int = 1e-7;
  return how;
}

/* False where GLPK itself has failed; *effort_min is -1 where nothing solves it. */
static inline bool mixed_integer_solve(glp_prob *mip, const glp_iocp *how, double *effort_min)
{
  int failed = glp_intopt(mip, how);
  *effort_min = glp_mip_status(mip) == GLP_OPT ? glp_mip_obj_val(mip) : -1;
  return failed == 0 || failed == GLP_ENOPFS;
}

#endif
