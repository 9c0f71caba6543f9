/* Data: the folder that a shop's sessions, engines, gauges and habits lie in, and the names of what lies there. */
#ifndef EVENBORE_DATA_H
#define EVENBORE_DATA_H

#include "evenbore/status.h"

#include <stdbool.h>

enum { EB_DATA_PATH_SIZE = 1024, EB_DATA_NAME_SIZE = 41 };

/* DATA/`below`, where DATA is `data` as given by --data, or, where that is NULL, $XDG_DATA_HOME/evenbore, else
 * ~/.local/share/evenbore.  EB_NOT_FOUND where no variable says where, EB_OUT_OF_RANGE where the path is too long. */
eb_status eb_data_path(const char *data, const char *below, char path[EB_DATA_PATH_SIZE], eb_error *error);

/* What an engine or a gauge can be called: small letters, digits and hyphens, so that no two names look alike and none
 * leads out of its folder.  `kind` is "engine" or "gauge", for the message.  EB_BAD_VALUE says what would be right. */
eb_status eb_data_check_name(const char *kind, const char *name, eb_error *error);

/* Whether a person means a file by its path: what ends in .json. */
bool eb_data_is_path(const char *typed);

/* The file that a person means by a name or by its path; `folder` is "engines" or "gauges". */
eb_status eb_data_file(const char *data, const char *kind, const char *folder, const char *typed,
                       char path[EB_DATA_PATH_SIZE], eb_error *error);

#endif
