#include "lock.h"

#include <errno.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

static bool limit(__rlimit_resource_t resource, rlim_t value)
{
  struct rlimit both = {.rlim_cur = value, .rlim_max = value};
  struct rlimit now;
  if (getrlimit(resource, &now) == 0 && now.rlim_max < value)
    return true;
  return setrlimit(resource, &both) == 0;
}

/* A kernel older than close_range is told one by one. */
static bool close_range_of(unsigned first, unsigned last)
{
  if (syscall(SYS_close_range, first, last, 0U) == 0)
    return true;
  struct rlimit files;
  if (errno != ENOSYS || getrlimit(RLIMIT_NOFILE, &files) != 0)
    return false;
  for (unsigned file = first; file <= last && file < files.rlim_max && file < 1U << 20; file++)
    close((int)file);
  return true;
}

static bool close_others(int kept)
{
  bool below = kept == 0 || close_range_of(0, (unsigned)kept - 1);
  return below && close_range_of((unsigned)kept + 1, ~0U);
}

/* The kernel counts a stack that grows apart from data; with data at nothing, no more memory can be had. */
static bool limit_all(long processor_s)
{
  return limit(RLIMIT_CPU, (rlim_t)processor_s) && limit(RLIMIT_DATA, 0) && limit(RLIMIT_CORE, 0) &&
         limit(RLIMIT_NPROC, 0) && limit(RLIMIT_FSIZE, 0) && limit(RLIMIT_NOFILE, 0);
}

/* A parent's death is told by the thread that forked: only the first one lives as long as the process.  A run that
 * another thread started ends when it reads from a parent that is gone. */
static bool die_with(pid_t parent, bool first_thread)
{
  if (first_thread && prctl(PR_SET_PDEATHSIG, SIGKILL, 0, 0, 0) != 0)
    return false;
  return getppid() == parent;
}

bool lock_in(int kept, pid_t parent, bool first_thread, long processor_s, const filter *rules)
{
  sigset_t all;
  sigfillset(&all);
  return sigprocmask(SIG_SETMASK, &all, NULL) == 0 && die_with(parent, first_thread) && close_others(kept) &&
         limit_all(processor_s) && prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
         (rules == NULL || filter_install(rules));
}
