/*
 * picture/picture_scene.h: a drawing as a list of things to paint, and how the module that paints PDF and PNG
 * is called. The module links nothing of ovenproof: it reads this header alone.
 */
#ifndef OVENPROOF_PICTURE_SCENE_H
#define OVENPROOF_PICTURE_SCENE_H

#include <stdbool.h>
#include <stddef.h>

typedef enum picture_item_kind {
    PICTURE_ITEM_PATH,
    PICTURE_ITEM_BOX,  /* filled */
    PICTURE_ITEM_DISC, /* filled */
    PICTURE_ITEM_WORDS,
} picture_item_kind;

typedef enum picture_dash {
    PICTURE_SOLID,
    PICTURE_DASHED,
    PICTURE_DOTTED,
} picture_dash;

typedef enum picture_anchor {
    PICTURE_START,
    PICTURE_MIDDLE,
    PICTURE_END,
} picture_anchor;

typedef struct picture_point {
    float x, y;
    bool move; /* no line leads here */
} picture_point;

typedef struct picture_item {
    picture_item_kind kind;
    unsigned colour; /* 0xRRGGBB */
    double x, y, width,
        height;        /* box; disc: middle, and the radius as width; words: start of the base line */
    double line_width; /* of a path; 0: the path is filled */
    picture_dash dash;
    size_t first, count; /* points of a path */
    picture_anchor anchor;
    double size; /* of the letters */
    double room; /* the widest that the words may become: letters are made smaller to fit */
    bool bold;
    size_t text; /* where the words begin in `texts` */
} picture_item;

/** Units are 1/72 inch on paper and CSS pixels on a screen; y counts down. */
typedef struct picture_scene {
    double width, height;
    picture_item *items;
    size_t item_count;
    picture_point *points;
    size_t point_count;
    char *texts; /* zero-ended, UTF-8, one behind the other */
    size_t text_count;
    size_t title; /* where the title stands in `texts` */
} picture_scene;

/* ---- the module --------------------------------------------------------------------------------------- */

enum {
    PICTURE_MODULE_VERSION = 1,
    PICTURE_MODULE_PDF = 1,
    PICTURE_MODULE_PNG = 2,
    PICTURE_MODULE_MESSAGE = 200,
};

/** Where the bytes go; false stops the drawing. */
typedef bool (*picture_module_write)(void *context, const unsigned char *bytes, size_t count);

typedef struct picture_module {
    int version;       /* PICTURE_MODULE_VERSION of the header it was built with */
    size_t scene_size; /* sizeof(picture_scene) */
    /** Paint. False when it failed: `message` then says why, "" when it was `write`. */
    bool (*paint)(const picture_scene *scene, int kind, picture_module_write write, void *context,
                  char message[PICTURE_MODULE_MESSAGE]);
} picture_module;

/** The one symbol that the module has. */
#define PICTURE_MODULE_SYMBOL "picture_module_cairo"

#endif
