/* JSON: the one place where JSON text (RFC 8259) is read and written.
 *
 * A value is a tree.  Whoever holds the root owns the whole tree and ends it
 * with eb_json_destroy; everything reached from a root is borrowed from it. */
#ifndef EVENBORE_JSON_H
#define EVENBORE_JSON_H

#include "evenbore/status.h"
#include "evenbore/text.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Numbers are kept to 15 significant digits, so that writing and reading changes none. */
typedef struct cJSON eb_json;

enum { EB_JSON_DEPTH_MAX = 32, EB_JSON_MEMBERS_MAX = 4096 };

/* Reads exactly one value from `size` bytes.  Refused with EB_BAD_VALUE and
 * the byte offset: anything that RFC 8259 does not allow, numbers that are not
 * finite in double precision, NUL characters in strings, an object with the
 * same key twice, nesting deeper than EB_JSON_DEPTH_MAX, more members in one
 * object or elements in one array than EB_JSON_MEMBERS_MAX; with EB_BAD_TEXT: bytes that are not UTF-8.
 * EB_OUT_OF_MEMORY.
 * *value is owned by the caller. */
eb_status eb_json_parse(const char *text, size_t size, eb_json **value, eb_error *error);

/* As eb_json_parse, for a text that a person writes: error->place is "NAME:LINE", the line where the text stops being
 * JSON, or where a key stands for the second time; `name` alone where the text as a whole is refused.  A byte order
 * mark is refused.  Meant for texts of some KiB: it takes longer than in proportion to their size. */
eb_status eb_json_parse_lines(const char *name, const char *text, size_t size, eb_json **value, eb_error *error);

/* The line, from 1, of the value that a JSON pointer names ("/throttle/bore_mm", "/best/0", "" is the whole), in a
 * text that eb_json_parse takes: that of a member is its key's.  0: there is no such value.  RFC 6901, without the
 * "-" behind an array's end. */
size_t eb_json_line(const char *text, size_t size, const char *pointer);

/* "NAME:LINE", a long name without its beginning; `line` 0: the name alone. */
enum { EB_PLACE_SIZE = 160 };
void eb_json_place(const char *name, size_t line, char place[EB_PLACE_SIZE]);

/* Adds the value as a person would write it: a member a line, indented by two; lists of plain values on one line; a
 * newline at the end. */
void eb_json_write_lines(eb_text *text, const eb_json *value);

/* Texts that travel: one spelling a value, made so that mail changes nothing in it.
 *
 * A member or an element a line, without indent and without a space behind the colon; an empty list or object is [] or
 * {}.  ASCII alone: another character is \u with four small hexadecimal digits, two of these above U+FFFF; of the short
 * escapes \" \\ \n \r \t are used.  A text with a newline before its end, or of more than 56 bytes with a space in
 * it (more than 100 without), is an object {"lines": [...]}: its pieces in order, each ended behind a newline or at 68
 * bytes.  So no line begins or ends with a space, and none with a space in it is longer than 72 where keys are short
 * (10 bytes).
 *
 * Adds the value and a newline. A tree that has such an object of its own does not read back as itself; text->failed
 * also where a string is not UTF-8. */
void eb_json_write_mail(eb_text *text, const eb_json *value);

/* Reads exactly that: what eb_json_parse refuses is refused, and any spelling but the one above, with EB_BAD_VALUE and
 * the line (error->place is "NAME:LINE").  Taken all the same is what a transport does to lines: CR LF for LF, and more
 * or fewer line ends behind the end.  *value has whole texts again; owned by the caller.  EB_BAD_TEXT,
 * EB_OUT_OF_MEMORY. */
eb_status eb_json_parse_mail(const eb_host *host, const char *name, const char *text, size_t size, eb_json **value,
                             eb_error *error);

/* The value as text without white space or newline, ended by NUL; NULL when
 * memory runs out.  Owned by the caller, ended by eb_json_text_free. Equal
 * trees give equal bytes, and read back as equal trees. */
char *eb_json_text(const eb_json *value);
void eb_json_text_free(char *text);

/* Appends the same text.  False: out of memory, and text->failed is set. */
bool eb_json_add_text(eb_text *text, const eb_json *value);

/* The same into a buffer of `size` bytes, without memory of its own.  The JSON library wants EB_JSON_SLACK bytes more
 * than the text has with its NUL; false where there are not so many: what stands there is then of no use. */
enum { EB_JSON_SLACK = 5 };
bool eb_json_text_into(const eb_json *value, char *text, size_t size);

/* Appends the same text for where a person may see it: every character that must not reach a screen as it is
 * (eb_char_unprintable) stands as an escape, \uXXXX.  False: out of memory, and text->failed is set. */
bool eb_json_add_shown(eb_text *text, const eb_json *value);

/* Whether `text`, made of `value` by eb_json_text or put together around such texts, will be read again: its bytes are
 * UTF-8 (EB_BAD_TEXT), and the tree is within the limits of eb_json_parse (EB_BAD_VALUE).  For what is written to be
 * kept, in place of reading it back: whatever else could be wrong with it no tree of this header can hold. */
eb_status eb_json_check(const eb_json *value, const char *text, size_t size, eb_error *error);

void eb_json_destroy(eb_json *value);                   /* NULL is allowed */
eb_json *eb_json_copy(const eb_json *value);            /* NULL when memory runs out; owned by the caller */
bool eb_json_equal(const eb_json *a, const eb_json *b); /* members in any order; numbers exactly */

/* Has the whole process's trees and texts come from `allocate` (NULL and ENOMEM when there is no more) and go to
 * `release` from here on.  For a process that must not touch malloc: a fork of one with threads, or one without calls
 * to get memory by.  Before its first tree. */
void eb_json_allocate_with(void *(*allocate)(size_t size), void (*release)(void *block));

/* What a value is.  NULL is none of them, so a lookup can be tested at once. */
bool eb_json_is_object(const eb_json *value);
bool eb_json_is_array(const eb_json *value);
bool eb_json_is_string(const eb_json *value);
bool eb_json_is_number(const eb_json *value);
bool eb_json_is_bool(const eb_json *value);
bool eb_json_is_null(const eb_json *value);

/* The content of a value of the right kind; the fallback for any other, and for NULL. */
const char *eb_json_as_string(const eb_json *value, const char *fallback);
double eb_json_as_number(const eb_json *value, double fallback);
bool eb_json_as_bool(const eb_json *value, bool fallback);

/* A member by key (NULL where there is none or `object` is not an object), and its content. */
const eb_json *eb_json_get(const eb_json *object, const char *key);
const char *eb_json_get_string(const eb_json *object, const char *key, const char *fallback);
double eb_json_get_number(const eb_json *object, const char *key, double fallback);
bool eb_json_get_bool(const eb_json *object, const char *key, bool fallback);
/* A whole number that an int holds; the fallback for any other number too. */
int eb_json_as_int(const eb_json *value, int fallback);
int eb_json_get_int(const eb_json *object, const char *key, int fallback);

/* Elements of an array or members of an object, in order. For a walk use first and next. */
int eb_json_count(const eb_json *value);
const eb_json *eb_json_at(const eb_json *array, int index);
const eb_json *eb_json_first(const eb_json *value);
const eb_json *eb_json_next(const eb_json *value);
const char *eb_json_key(const eb_json *member);

/* Building.  Constructors return NULL when memory runs out.  The set and add
 * functions return false when memory runs out or `container` is NULL, and take
 * over `value` in either case (it is destroyed on failure), so that a chain
 * `ok = eb_json_set(...) && eb_json_set(...)` needs no cleaning up but the
 * root's.  Setting an existing key replaces its value in place. */
eb_json *eb_json_object(void);
eb_json *eb_json_array(void);
eb_json *eb_json_from_string(const char *text);
eb_json *eb_json_from_number(double number); /* asserts that it is finite */
eb_json *eb_json_from_bool(bool flag);
eb_json *eb_json_null(void);
/* As if they were functions:
 *   bool eb_json_set(eb_json *object, const char *key, eb_json *value);
 *   bool eb_json_set_string(eb_json *object, const char *key, const char *text); and so on.
 * A key is copied, unless it stands there as a literal, which lasts longer than any tree. */
#define eb_json_set(object, key, value) eb_json_set_member(object, key, EB_JSON_LITERAL(key), value)
#define eb_json_set_string(object, key, text) eb_json_set(object, key, eb_json_from_string(text))
#define eb_json_set_number(object, key, number) eb_json_set(object, key, eb_json_from_number(number))
#define eb_json_set_bool(object, key, flag) eb_json_set(object, key, eb_json_from_bool(flag))
/* The same for a key that the object does not have yet (asserted): without a walk along its members. */
#define eb_json_put(object, key, value) eb_json_put_member(object, key, EB_JSON_LITERAL(key), value)
#define eb_json_put_string(object, key, text) eb_json_put(object, key, eb_json_from_string(text))
#define eb_json_put_number(object, key, number) eb_json_put(object, key, eb_json_from_number(number))
#define eb_json_put_bool(object, key, flag) eb_json_put(object, key, eb_json_from_bool(flag))
bool eb_json_put_member(eb_json *object, const char *key, bool literal, eb_json *value);
bool eb_json_set_member(eb_json *object, const char *key, bool literal, eb_json *value);
#if defined(__GNUC__)
#define EB_JSON_LITERAL(key) __builtin_constant_p(key)
#else
#define EB_JSON_LITERAL(key) false
#endif
bool eb_json_add(eb_json *array, eb_json *value);
bool eb_json_add_string(eb_json *array, const char *text);
bool eb_json_add_number(eb_json *array, double number);
bool eb_json_remove(eb_json *object, const char *key); /* true where there was one */

/* Takes the first element out of an array, or a member out of an object; owned by the caller; NULL: there is none. */
eb_json *eb_json_take_first(eb_json *array);
eb_json *eb_json_take(eb_json *object, const char *key);

/* Moves a member of `from` behind those of `to`, which has none of its key.  Fails only where one of them is NULL. */
bool eb_json_move(eb_json *from, const eb_json *member, eb_json *to);
/* Moves all members of `more`, which is taken over, behind those of `object`, which has none of their keys.  Fails only
 * where one of them is NULL. */
bool eb_json_join(eb_json *object, eb_json *more);

/* Adds `value` without taking it over: it stands in both trees, and must outlive the array unchanged. */
bool eb_json_add_shared(eb_json *array, const eb_json *value);

/* A borrowed member or element that may be changed; NULL where there is none. */
eb_json *eb_json_member(eb_json *object, const char *key);
eb_json *eb_json_element(eb_json *array, int index);

#ifdef __cplusplus
}
#endif
#endif
