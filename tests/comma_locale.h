/* A locale that writes a decimal comma, made in the build folder: what must not depend on the locale is tried in it. */
#ifndef EB_TESTS_COMMA_LOCALE_H
#define EB_TESTS_COMMA_LOCALE_H

#include <stdio.h>
#include <stdlib.h>

/* Its name, for setlocale and newlocale; NULL where it could not be made.  To be
 * called before the program's first setlocale, which remembers what it did not find. */
static inline const char *comma_locale(void)
{
  static const char folder[] = EB_BUILD_FOLDER "/locale";
  char command[2048];
  /* Made beside and moved into place, since tests run at the same time. */
  snprintf(command, sizeof command,
           "mkdir -p '%s' && cd '%s' && { test -d de_DE.UTF-8 || { localedef -i de_DE -f UTF-8 ./made-$$ && "
           "{ mv -T made-$$ de_DE.UTF-8 || test -d de_DE.UTF-8; }; }; } >/dev/null 2>&1",
           folder, folder);
  setenv("LOCPATH", folder, 1);
  return system(command) == 0 ? "de_DE.UTF-8" : NULL;
}

#endif
