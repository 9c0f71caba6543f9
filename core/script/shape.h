/* Shape: whether what an author gives is what the rows of api.h want. */
#ifndef EB_SCRIPT_SHAPE_H
#define EB_SCRIPT_SHAPE_H

#include "machine.h"

/* core.is and core.shape of verbs.h. */
int core_is(lua_State *L);
int core_shape(lua_State *L);

#endif
