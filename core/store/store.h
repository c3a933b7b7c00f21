/*
 * store/store.h: all that must survive a power cut. First part: a file that is replaced whole or not at
 * all, and the settings that `setup` writes.
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

#endif
