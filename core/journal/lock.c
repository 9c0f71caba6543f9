/* The lock is on a file of its own, PATH.lock, since the journal itself may be replaced by a fresh copy while it is
 * held.  The system drops the lock with the process that holds it, so what a crash leaves behind blocks nobody.
 *
 * The file stays when the lock is released: removing it would let a process that opened it just before lock a file
 * that has no name any more, while another creates and locks a new one, and both would append. */
#include "lock.h"

#include "disk.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>

enum { MACHINE_SIZE = 256, HOLDER_SIZE = EB_WHO_SIZE + 56 };

/* Names for a person to read: nothing is decided by them. */
static void name_holder(const eb_host *host, char holder[HOLDER_SIZE])
{
  char who[EB_WHO_SIZE];
  char now[EB_TIME_TEXT_SIZE];
  host->who(host->context, who);
  eb_time_text(host->now(host->context), now);
  snprintf(holder, HOLDER_SIZE, "%s %.19s%s\n", who, now, now + 23); /* no milliseconds */
}

/* The holder in words; "another process" where the text is empty or cut, since its writer had no time or no room. */
static void read_holder(const eb_host *host, int lock, eb_text *holder)
{
  char process[20], machine[MACHINE_SIZE], since[EB_TIME_TEXT_SIZE], words[HOLDER_SIZE];
  eb_text line;
  eb_text_init(&line, host);
  eb_disk_read(host, lock, HOLDER_SIZE, &line);
  if (sscanf(eb_text_string(&line), "%19[0-9] %255s %31s", process, machine, since) == 3)
    snprintf(words, sizeof words, "process %s on %s since %s", process, machine, since);
  else
    snprintf(words, sizeof words, "another process");
  eb_text_clear(&line);
  eb_text_add_safe(holder, words, strlen(words), false);
}

static eb_status refuse_held(const eb_host *host, const char *path, int lock, eb_error *error)
{
  eb_text holder;
  eb_text_init(&holder, host);
  read_holder(host, lock, &holder);
  eb_status status = eb_disk_refuse(error, EB_HELD, path, "held by %s; close that one first",
                                    holder.failed || holder.size == 0 ? "another process" : eb_text_string(&holder));
  eb_text_clear(&holder);
  return status;
}

eb_status eb_lock_take(const eb_host *host, const char *path, int *lock, eb_error *error)
{
  char beside[EB_DISK_BESIDE_SIZE];
  snprintf(beside, sizeof beside, "%s.lock", path);
  int file = host->files.open(host->context, beside, O_RDWR | O_CREAT | O_NOFOLLOW, 0666);
  if (file < 0)
    return eb_disk_fail(error, beside, "the lock file cannot be opened", errno);
  if (host->files.lock(host->context, file) != 0) {
    int failure = errno;
    eb_status status = failure == EWOULDBLOCK ? refuse_held(host, path, file, error)
                                              : eb_disk_fail(error, beside, "the file cannot be locked", failure);
    host->files.close(host->context, file);
    return status;
  }
  /* The lock holds without the name in it: a full disk is no reason to refuse it. */
  char holder[HOLDER_SIZE];
  name_holder(host, holder);
  if (host->files.truncate(host->context, file, 0) == 0)
    eb_disk_write(host, file, holder, strlen(holder));
  *lock = file;
  return EB_OK;
}

void eb_lock_release(const eb_host *host, int lock)
{
  host->files.truncate(host->context, lock, 0);
  host->files.close(host->context, lock);
}
