#include "evenbore/host.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static void *system_allocate(void *context, void *block, size_t size)
{
  (void)context;
  if (size == 0) {
    free(block);
    return NULL;
  }
  return realloc(block, size);
}

static int64_t clock_ns(clockid_t clock)
{
  struct timespec now;
  if (clock_gettime(clock, &now) != 0)
    return 0;
  return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static eb_time system_now(void *context)
{
  (void)context;
  struct timespec now;
  struct tm local;
  if (clock_gettime(CLOCK_REALTIME, &now) != 0 || localtime_r(&now.tv_sec, &local) == NULL)
    return (eb_time){0};
  return (eb_time){.unix_ms = (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000,
                   .offset_min = (int32_t)(local.tm_gmtoff / 60)};
}

static int64_t system_monotonic_ns(void *context)
{
  (void)context;
  return clock_ns(CLOCK_MONOTONIC);
}

static void system_who(void *context, char who[EB_WHO_SIZE])
{
  (void)context;
  char machine[256] = "";
  if (gethostname(machine, sizeof machine - 1) != 0 || machine[0] == '\0')
    snprintf(machine, sizeof machine, "this-machine");
  snprintf(who, EB_WHO_SIZE, "%ld %s", (long)getpid(), machine);
}

static int64_t system_processor_ns(void *context)
{
  (void)context;
  return clock_ns(CLOCK_THREAD_CPUTIME_ID);
}

static int system_open(void *context, const char *path, int flags, unsigned mode)
{
  (void)context;
  return open(path, flags | O_CLOEXEC, (mode_t)mode);
}

static int system_close(void *context, int file)
{
  (void)context;
  return close(file);
}

static ptrdiff_t system_read(void *context, int file, void *bytes, size_t size)
{
  (void)context;
  return read(file, bytes, size);
}

static ptrdiff_t system_write(void *context, int file, const void *bytes, size_t size)
{
  (void)context;
  return write(file, bytes, size);
}

static ptrdiff_t system_read_at(void *context, int file, int64_t offset, void *bytes, size_t size)
{
  (void)context;
  return pread(file, bytes, size, offset);
}

static int64_t system_seek_end(void *context, int file)
{
  (void)context;
  return lseek(file, 0, SEEK_END);
}

static int system_sync(void *context, int file)
{
  (void)context;
  return fdatasync(file);
}

static int system_truncate(void *context, int file, int64_t size)
{
  (void)context;
  return ftruncate(file, size);
}

static int system_rename(void *context, const char *from, const char *to)
{
  (void)context;
  return rename(from, to);
}

static int system_remove(void *context, const char *path)
{
  (void)context;
  return unlink(path);
}

static int system_make_folder(void *context, const char *path, unsigned mode)
{
  (void)context;
  return mkdir(path, (mode_t)mode);
}

static eb_path_kind system_kind(void *context, const char *path)
{
  (void)context;
  struct stat met;
  if (stat(path, &met) != 0)
    return errno == ENOENT || errno == ENOTDIR ? EB_PATH_NOTHING : EB_PATH_OTHER;
  if (S_ISREG(met.st_mode))
    return EB_PATH_FILE;
  return S_ISDIR(met.st_mode) ? EB_PATH_FOLDER : EB_PATH_OTHER;
}

static int system_look(void *context, int file, eb_file_facts *facts)
{
  (void)context;
  struct stat met;
  if (fstat(file, &met) != 0)
    return -1;
  *facts = (eb_file_facts){.kind = S_ISREG(met.st_mode)   ? EB_PATH_FILE
                                   : S_ISDIR(met.st_mode) ? EB_PATH_FOLDER
                                                          : EB_PATH_OTHER,
                           .link = S_ISLNK(met.st_mode),
                           .others = (met.st_mode & (S_IRWXG | S_IRWXO)) != 0,
                           .size = met.st_size};
  return 0;
}

static int system_lock(void *context, int file)
{
  (void)context;
  return flock(file, LOCK_EX | LOCK_NB);
}

static int system_list(void *context, const char *folder, int (*each)(void *argument, const char *name), void *argument)
{
  (void)context;
  DIR *stream = opendir(folder);
  if (stream == NULL)
    return -1;
  for (;;) {
    errno = 0;
    const struct dirent *entry = readdir(stream);
    if (entry == NULL)
      break;
    if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
      continue;
    if (each(argument, entry->d_name) != 0)
      break;
  }
  int failure = errno;
  closedir(stream);
  errno = failure;
  return failure == 0 ? 0 : -1;
}

const eb_host *eb_host_system(void)
{
  static const eb_host host = {
      .context = NULL,
      .allocate = system_allocate,
      .now = system_now,
      .monotonic_ns = system_monotonic_ns,
      .processor_ns = system_processor_ns,
      .who = system_who,
      .files = {.open = system_open,
                .close = system_close,
                .read = system_read,
                .write = system_write,
                .read_at = system_read_at,
                .seek_end = system_seek_end,
                .sync = system_sync,
                .truncate = system_truncate,
                .rename = system_rename,
                .remove = system_remove,
                .make_folder = system_make_folder,
                .kind = system_kind,
                .look = system_look,
                .lock = system_lock,
                .list = system_list},
  };
  return &host;
}

void eb_time_text(eb_time time, char text[EB_TIME_TEXT_SIZE])
{
  int64_t local_ms = time.unix_ms + (int64_t)time.offset_min * 60000;
  int64_t seconds = local_ms / 1000;
  int milliseconds = (int)(local_ms % 1000);
  if (milliseconds < 0) {
    milliseconds += 1000;
    seconds--;
  }
  time_t moment = (time_t)seconds;
  struct tm parts;
  if (gmtime_r(&moment, &parts) == NULL || parts.tm_year < -1900 || parts.tm_year > 8099) {
    moment = 0;
    gmtime_r(&moment, &parts);
  }
  char date[24];
  strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%S", &parts);
  int offset = abs(time.offset_min) % 1440;
  snprintf(text, EB_TIME_TEXT_SIZE, "%.19s.%03d%c%02d:%02d", date, milliseconds, time.offset_min < 0 ? '-' : '+',
           offset / 60, offset % 60);
}
