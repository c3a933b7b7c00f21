/*
 * store/store.h: all that must survive a power cut. First part: a file that is replaced whole or not at
 * all, the settings that `setup` writes, and the cases that `guide` keeps.
 */
#ifndef OVENPROOF_STORE_STORE_H
#define OVENPROOF_STORE_STORE_H

#include "ovenproof/base.h"
#include "ovenproof/text.h"

#include <limits.h>

enum {
    STORE_PATH_SIZE = PATH_MAX,
};

/* ---- a file that is replaced whole or not at all --------------------------------------------------- */

/** Begin with store_file_begin; end with store_file_commit or store_file_abandon. */
typedef struct store_file {
    int descriptor;
    bool direct;                     /* a device or a pipe: written as it comes, nothing to rename */
    int failure;                     /* errno of the first failed write */
    char path[STORE_PATH_SIZE - 16]; /* room for the ending of the temporary */
    char temporary[STORE_PATH_SIZE];
    size_t held;
    char buffer[16384];
} store_file;

/**
 * Begin a new version of the file: a temporary file in the same folder. The old one stays as it is until
 * the commit. A symbolic link is followed and kept; the mode of the old file is kept.
 * Errors: OVP_ERROR_SYSTEM, with the file and the reason.
 */
ovp_status store_file_begin(store_file *file, const char *path, ovp_error *error);

/** Where the bytes go. The sink returns OVP_ERROR_SYSTEM after a failed write (a full disk). */
ovp_sink store_file_sink(store_file *file);

/** Flush to the disk, put in place, flush the folder. On any failure the old file stays and nothing is left
 * over. */
ovp_status store_file_commit(store_file *file, ovp_error *error);

/** Drop the new version. Does nothing after a commit. */
void store_file_abandon(store_file *file);

/** All of the above for bytes at hand. */
ovp_status store_file_replace(const char *path, const char *bytes, size_t count, ovp_error *error);

/** Make a folder and those above it. Errors: OVP_ERROR_SYSTEM. */
ovp_status store_make_folder(const char *path, ovp_error *error);

/* ---- a record that grows ----------------------------------------------------------------------------- */

/** One process at a time holds a record. Begin with store_recording_open; end with store_recording_close. */
typedef struct store_recording {
    int descriptor; /* -1: closed */
    char path[STORE_PATH_SIZE - 16];
} store_recording;

/**
 * Open a record to go on with, or make one that was not there. Errors: OVP_ERROR_SYSTEM, also when another
 * process records into it, or when a new one exists already.
 */
ovp_status store_recording_open(store_recording *recording, const char *path, bool is_new, ovp_error *error);

/** Add bytes: on the disk when it returns; on a failure the record is as it was. Errors: OVP_ERROR_SYSTEM. */
ovp_status store_recording_append(store_recording *recording, const char *bytes, size_t count,
                                  ovp_error *error);

/** A new text for all of it: whole or not at all, and held without a pause. Errors: OVP_ERROR_SYSTEM. */
ovp_status store_recording_replace(store_recording *recording, const char *bytes, size_t count,
                                   ovp_error *error);

void store_recording_close(store_recording *recording);

/* ---- what a person keeps: cases of the guide, runs of a checklist ------------------------------------ */

enum {
    STORE_NAME_SIZE = 64,
};

/** $XDG_DATA_HOME/ovenproof/KIND, else ~/.local/share/ovenproof/KIND. Errors: OVP_ERROR_SYSTEM. */
ovp_status store_data_folder(const char *kind, char folder[STORE_PATH_SIZE], ovp_error *error);

/** Letters, digits, - and _: a name is never a path, and never hidden. `what` is a case or a run. Errors:
 * OVP_ERROR_USAGE. */
ovp_status store_check_name(const char *what, const char *name, ovp_error *error);

/** Hold a name of that folder: nobody else can meanwhile; waits two seconds. *lock is a descriptor to close.
 * Errors: OVP_ERROR_SYSTEM. */
ovp_status store_lock(const char *what, const char *folder, const char *name, int *lock, ovp_error *error);

/* ---- settings ------------------------------------------------------------------------------------------ */

enum {
    STORE_TOOLS = 32,
    STORE_TOOL_SIZE = 32,
    STORE_INSTRUMENTS = 32,
    STORE_LINE_SIZE = 160,
    STORE_FIELD_SIZE = 64,
};

/** An instrument that readings are compared with. Empty strings: not known. */
typedef struct store_instrument {
    char name[STORE_FIELD_SIZE];
    char certificate[STORE_FIELD_SIZE];
    char due[16];         /**< YYYY-MM-DD: the day until which the certificate is taken as good */
    char uncertainty[32]; /**< expanded (k = 2), a quantity with its unit: "0.5C", "5uV" */
} store_instrument;

/** What `setup` asked. Zero everywhere is "nothing known". */
typedef struct store_settings {
    ovp_text_degrees degrees;      /**< NONE: not said */
    char colours[STORE_TOOL_SIZE]; /**< "us", "eu"...: whose wire colours; "" not said */
    bool tools_known;              /**< false: nobody said, so every tool may be asked for */
    size_t tool_count;
    char tools[STORE_TOOLS][STORE_TOOL_SIZE];
    size_t instrument_count;
    store_instrument instruments[STORE_INSTRUMENTS];
    char contact[STORE_LINE_SIZE]; /**< line for reports and labels */
} store_settings;

/**
 * Where the settings live: $XDG_CONFIG_HOME/ovenproof/settings, else ~/.config/ovenproof/settings.
 * Errors: OVP_ERROR_SYSTEM when neither variable gives a place.
 */
ovp_status store_settings_path(char *path, size_t size, ovp_error *error);

/**
 * Read the settings. No file is no error: nothing is known then. Keys that this version does not know are
 * passed over. Errors: OVP_ERROR_SYSTEM when it cannot be read; OVP_ERROR_DATA with the file and the first
 * line that is wrong, and then the settings hold what the other lines say.
 */
ovp_status store_settings_load(store_settings *settings, ovp_error *error);

/**
 * Add to `settings` what a text of the same form says; `name` is its file in errors. Reads on after a wrong
 * line. Errors: OVP_ERROR_DATA with the first such line.
 */
ovp_status store_settings_read(store_settings *settings, ovp_span text, const char *name, ovp_error *error);

/** The text of the file that says these settings, over the old text: see store_settings_save. */
void store_settings_write(const store_settings *settings, ovp_span old, ovp_sink sink);

/**
 * Write them. Comments and keys that this version does not know are kept; a line that is no `key = value`
 * becomes a comment. Errors: OVP_ERROR_SYSTEM.
 */
ovp_status store_settings_save(const store_settings *settings, ovp_error *error);

/**
 * Set one setting from its text, as in the file: key degrees, colours, tools, contact; `instrument` adds one.
 * An empty value is "not known". Errors: OVP_ERROR_DATA, with an example.
 */
ovp_status store_settings_set(store_settings *settings, const char *key, ovp_span value, ovp_error *error);

/** "Bench calibrator; certificate 1234; due 2027-03-01; U 0.5C": the name first, the rest in any order. */
ovp_status store_instrument_read(ovp_span text, store_instrument *instrument, ovp_error *error);

/** The tools as "multimeter, clamp-meter", with that separator, into a buffer; returns its length. */
size_t store_settings_tools(const store_settings *settings, const char *separator, char *buffer, size_t size);

/* ---- cases --------------------------------------------------------------------------------------------- */

enum {
    STORE_CASE_WORD = 64,
    STORE_CASE_TEXT = 512,
    STORE_CASE_ANSWERS = 160,
    STORE_CASE_ASIDE = 320,
    STORE_CASE_NOTES = 64,
    STORE_CASE_FINDINGS = 48,
    STORE_CASE_DOUBTED = 40,
    STORE_CASE_ASKED = 2,
    STORE_CASE_DIGEST = 17, /**< 16 digits and the zero */
    STORE_WHEN_SIZE = 24,   /**< "2026-11-25T13:20:05Z" */
};

/** Something that was said, or a note (then without id). */
typedef struct store_case_entry {
    char id[STORE_CASE_WORD], answer[STORE_CASE_WORD];
    char by[STORE_CASE_WORD];   /**< "owner", "technician" */
    char when[STORE_WHEN_SIZE]; /**< UTC; "" not known */
    char text[STORE_CASE_TEXT]; /**< of a note; of an entry set aside: why */
} store_case_entry;

/** What a heat-up trace showed, as it was taken. */
typedef struct store_case_finding {
    char finding[STORE_CASE_WORD], outcome[STORE_CASE_WORD], unit[STORE_CASE_WORD];
    char text[STORE_CASE_TEXT];
    bool notable;
    double at_s, value; /**< NAN where there is none */
} store_case_finding;

/** A case: one oven's trouble, from the first word to what it turned out to be. On the heap: it is large. */
typedef struct store_case {
    char name[STORE_CASE_WORD];
    char path[STORE_PATH_SIZE];
    int lock;                                           /* a descriptor; -1: not held */
    bool is_new;                                        /**< there was no such case yet */
    char guide[STORE_CASE_TEXT], oven[STORE_CASE_TEXT]; /**< as they are found again; oven "": none */
    char complaint[STORE_CASE_TEXT];
    char context[STORE_CASE_WORD], who[STORE_CASE_WORD];
    bool tools_said; /**< false: those of `setup` */
    char tools[STORE_TOOLS * (STORE_TOOL_SIZE + 1)];
    char began[STORE_WHEN_SIZE], touched[STORE_WHEN_SIZE];
    char tables_digest[STORE_CASE_DIGEST], guide_digest[STORE_CASE_DIGEST], oven_digest[STORE_CASE_DIGEST];
    bool told; /**< the entry question was answered */
    store_case_entry answers[STORE_CASE_ANSWERS];
    size_t answer_count;
    store_case_entry aside[STORE_CASE_ASIDE]; /**< taken back, or no longer fitting: nothing is lost */
    size_t aside_count;
    store_case_entry notes[STORE_CASE_NOTES];
    size_t note_count;
    char doubted[STORE_CASE_DOUBTED][STORE_CASE_WORD]; /**< asked again already */
    size_t doubted_count;
    char asked[STORE_CASE_ASKED][STORE_CASE_WORD]; /**< questions of the last message */
    size_t asked_count;
    bool has_trace;
    char trace_file[STORE_CASE_TEXT], trace_digest[STORE_CASE_DIGEST];
    char danger_text[STORE_CASE_TEXT]; /**< heat must be off; "" */
    store_case_finding findings[STORE_CASE_FINDINGS];
    size_t finding_count;
    bool closed;
    char closed_fault[STORE_CASE_WORD], closed_words[STORE_CASE_TEXT], closed_when[STORE_WHEN_SIZE];
} store_case;

/** The time now, UTC. */
void store_now(char when[STORE_WHEN_SIZE]);

/** Digest of a file's bytes in 16 digits; "" when it cannot be read. */
void store_digest_file(const char *path, char digest[STORE_CASE_DIGEST]);
void store_digest_words(uint64_t value, char digest[STORE_CASE_DIGEST]);

/**
 * Open a case and hold it until store_case_release: nobody else can meanwhile. Waits two seconds for another.
 * No such case is no error: is_new is then true, and nothing is written before the first save.
 * Cases lie in $XDG_DATA_HOME/ovenproof/cases, else ~/.local/share/ovenproof/cases.
 * Errors: OVP_ERROR_USAGE for a name that is none; OVP_ERROR_SYSTEM when it cannot be read or another
 * process holds it; OVP_ERROR_DATA with file and line when it is damaged: it is then kept aside under another
 * name, which the hint says.
 */
ovp_status store_case_open(store_case *one, const char *name, ovp_error *error);

/** Write it: whole or not at all, on the disk when it returns. Sets `touched`. Errors: OVP_ERROR_SYSTEM. */
ovp_status store_case_save(store_case *one, ovp_error *error);

/** Let go of it. May be called on a zeroed case (lock 0 is taken for none) and twice. */
void store_case_release(store_case *one);

/** Put an answer aside with the reason. Errors: OVP_ERROR_MEMORY when there are too many. */
ovp_status store_case_set_aside(store_case *one, size_t answer, const char *reason, ovp_error *error);

/**
 * Call `found` for every case, the one touched last first; `one` is NULL and `wrong` says why for a file that
 * cannot be read. Damaged files that were kept aside come with their own path in `wrong`. No lock is taken.
 */
ovp_status store_case_each(void (*found)(void *context, const store_case *one, const ovp_error *wrong),
                           void *context, ovp_error *error);

/** A case from its text; `one` is overwritten. Errors: OVP_ERROR_DATA with the line where it is known. */
ovp_status store_case_parse(store_case *one, ovp_span text, ovp_error *error);
/** The text of a case. */
ovp_status store_case_write(const store_case *one, ovp_sink sink);

#endif
