/*
 * ovenproof/base.h: what every room stands on. It knows no word of the trade.
 *
 * Conventions of the whole library, said once here:
 *  - A function that can fail returns ovp_status and takes an ovp_error as its last parameter. The
 *    struct belongs to the caller; NULL is allowed and drops the words. On failure the out-parameters
 *    are left as they were, unless the function says otherwise.
 *  - The innermost function says what is wrong; the caller that knows the file and line adds them with
 *    ovp_error_place; the command adds what to do with ovp_error_hint, if nobody better placed did.
 *  - Out-parameters stand before the error, after everything else.
 *  - Every quantity has its unit in its name (temperature_C, emf_mV). NAN means "not given".
 *  - The library does no input or output, asks no clock, keeps no global state and reads no locale.
 *    Structs are public and belong to the caller; nothing needs to be freed unless a function says so.
 */
#ifndef OVENPROOF_BASE_H
#define OVENPROOF_BASE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Outcome of a call. The first five are the exit statuses of the command. */
typedef enum ovp_status {
    OVP_OK = 0,
    OVP_JUDGED = 1,       /**< only as an exit status: judged, and not good */
    OVP_ERROR_USAGE = 2,  /**< the call or the command line is wrong */
    OVP_ERROR_DATA = 3,   /**< the input is wrong */
    OVP_ERROR_SYSTEM = 4, /**< a device or the storage failed */
    OVP_ERROR_MEMORY = 5, /**< out of memory or past a fixed bound; the command exits with 4 */
} ovp_status;

enum {
    OVP_ERROR_FILE_SIZE = 256,
    OVP_ERROR_TEXT_SIZE = 320,
};

/** What went wrong, in words for a person: lower case, no full stop. Start it with {0}. */
typedef struct ovp_error {
    ovp_status status;
    char file[OVP_ERROR_FILE_SIZE]; /**< "" when no file is concerned */
    uint64_t line;                  /**< counted from 1; 0 when no line is concerned */
    char what[OVP_ERROR_TEXT_SIZE];
    char hint[OVP_ERROR_TEXT_SIZE]; /**< what to do; "" when nobody knew */
} ovp_error;

#if defined(__GNUC__)
#define OVP_PRINTF(format_at, arguments_at) __attribute__((format(printf, format_at, arguments_at)))
#else
#define OVP_PRINTF(format_at, arguments_at)
#endif

/**
 * Say what is wrong. Replaces all that the struct held. Control characters in the result are shown as
 * '?', so that hostile input cannot move a terminal's cursor.
 * Returns status, so that a caller can write `return ovp_error_set(error, OVP_ERROR_DATA, ...)`.
 */
ovp_status ovp_error_set(ovp_error *error, ovp_status status, const char *format, ...) OVP_PRINTF(3, 4);

/** Add the file (may be NULL) and line (0: none) where they are not known yet. */
void ovp_error_place(ovp_error *error, const char *file, uint64_t line);

/** Add what to do, unless a deeper function already said so. */
void ovp_error_hint(ovp_error *error, const char *format, ...) OVP_PRINTF(2, 3);

/** Where bytes go. write returns OVP_OK or the failure, which the writer hands on. */
typedef struct ovp_sink {
    ovp_status (*write)(void *context, const char *bytes, size_t count);
    void *context;
} ovp_sink;

/** A stretch of bytes that somebody else owns; not ended by a zero. */
typedef struct ovp_span {
    const char *bytes;
    size_t count;
} ovp_span;

/** The span of a zero-ended string. */
ovp_span ovp_span_of(const char *string);

/** True when the span and the zero-ended string are equal but for ASCII letter case. */
bool ovp_span_equals(ovp_span span, const char *string);

/** The span without ASCII blanks at either end. */
ovp_span ovp_span_trim(ovp_span span);

/** A text that was cut at a byte, without the half UTF-8 character it may end in; other bytes are kept. */
ovp_span ovp_span_whole(ovp_span span);

/**
 * Copy a string into a buffer of a fixed size, always ended by a zero.
 * Returns false when it did not fit (the start is copied, never half a UTF-8 character).
 */
bool ovp_copy_string(char *buffer, size_t size, ovp_span from);

/**
 * Digest of bytes (FNV-1a, 64 bits), to notice that something has changed; no proof against malice. Begin
 * with OVP_DIGEST_BEGIN; go on from what came out.
 */
#define OVP_DIGEST_BEGIN UINT64_C(14695981039346656037)
uint64_t ovp_digest(uint64_t from, ovp_span bytes);

/** a + b and a * b of sizes; false when the result does not fit (then *result is untouched). */
bool ovp_add_size(size_t a, size_t b, size_t *result);
bool ovp_multiply_size(size_t a, size_t b, size_t *result);

/** Median of a few values, which are sorted in place (the time grows with the square); NAN of none. */
double ovp_median(double values[], size_t count);

#ifdef __cplusplus
}
#endif

#endif
