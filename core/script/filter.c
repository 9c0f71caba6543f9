#include "filter.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/seccomp.h>
#include <seccomp.h>
#include <string.h>
#include <sys/prctl.h>
#include <unistd.h>

#if defined(__has_feature)
#define EB_ADDRESS_SANITIZER __has_feature(address_sanitizer)
#elif defined(__SANITIZE_ADDRESS__)
#define EB_ADDRESS_SANITIZER 1
#else
#define EB_ADDRESS_SANITIZER 0
#endif

/* `time` is another name of the clock: Lua seeds its hashes by it, and where the kernel has not mapped the clock into
 * the process it is a call. */
static const int left[] = {
    SCMP_SYS(read),          SCMP_SYS(write),        SCMP_SYS(exit), SCMP_SYS(exit_group),
    SCMP_SYS(clock_gettime), SCMP_SYS(rt_sigreturn), SCMP_SYS(time),
#if EB_ADDRESS_SANITIZER
    SCMP_SYS(sigaltstack), /* the sanitizer looks at the stack at every longjmp */
#endif
};

bool filter_is_possible(void)
{
  /* A filter at no address: a kernel that takes filters finds fault with the address first. */
  return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, NULL, 0, 0) != 0 && errno == EFAULT;
}

/* libseccomp writes its programs to files only: a pipe holds it whole. */
static int export(scmp_filter_ctx context, filter *made)
{
  int ends[2];
  if (pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0)
    return -errno;
  int failure = seccomp_export_bpf(context, ends[1]);
  ssize_t got = failure == 0 ? read(ends[0], made->step, sizeof made->step) : 0;
  if (got < 0)
    failure = -errno;
  close(ends[0]);
  close(ends[1]);
  if (failure != 0)
    return failure;
  if (got == 0 || (size_t)got == sizeof made->step)
    return -E2BIG;
  made->count = (unsigned short)((size_t)got / sizeof made->step[0]);
  return 0;
}

static int fill(scmp_filter_ctx context, filter *made)
{
  int failure = 0;
  for (size_t i = 0; i < sizeof left / sizeof left[0] && failure == 0; i++)
    if (left[i] >= 0) /* a machine that never had the call has a negative number for it */
      failure = seccomp_rule_add(context, SCMP_ACT_ALLOW, left[i], 0);
  return failure == 0 ? export(context, made) : failure;
}

eb_status filter_make(filter *made, eb_error *error)
{
  *made = (filter){.count = 0};
  scmp_filter_ctx context = seccomp_init(SCMP_ACT_KILL_PROCESS);
  if (context == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "there is no memory to lock procedures in");
  int failure = fill(context, made);
  seccomp_release(context);
  if (failure == 0)
    return EB_OK;
  return eb_fail(error, failure == -ENOMEM ? EB_OUT_OF_MEMORY : EB_IO, "",
                 "the filter that locks procedures in cannot be made (%s)", strerror(-failure));
}

bool filter_install(const filter *made)
{
  struct sock_fprog program = {.len = made->count, .filter = (struct sock_filter *)made->step};
  return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program, 0, 0) == 0;
}
