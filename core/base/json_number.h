/* JSON number: doubles and the 15 significant digits that are kept of them, the same in every locale. */
#ifndef EB_BASE_JSON_NUMBER_H
#define EB_BASE_JSON_NUMBER_H

#include <stddef.h>

enum { JSON_NUMBER_SIZE = 32 };

/* The double nearest to the number's first 15 significant digits, rounded half to even; finite where `number` is. */
double json_number_kept(double number);

/* What printf's %.15g writes of a finite number in the C locale, a whole one that an int holds without an exponent and
 * without the sign of zero. Returns the size, without the NUL. */
size_t json_number_write(double number, char text[JSON_NUMBER_SIZE]);

#endif
