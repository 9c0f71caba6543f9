#include "run.h"
int eb_run_new(const eb_run *run)
{
  (void)run;
  return 1;
}
