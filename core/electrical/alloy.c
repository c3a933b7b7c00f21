#include "ovenproof/electrical.h"

#include <math.h>
#include <string.h>

enum {
    ALLOY_STEPS = 14, /* 20, 100, 200 ... 1300 degC */
};

static const struct alloy_row {
    const char *alloy, *also;
    int usual;
    double factor[ALLOY_STEPS];
    const char *source;
} alloys[] = {
#include "heater-ct.inc"
};

static const size_t alloy_count = sizeof alloys / sizeof alloys[0];

static bool named(const struct alloy_row *row, ovp_span name)
{
    if (ovp_span_equals(name, row->alloy))
        return true;
    for (const char *at = row->also; *at != '\0';) {
        size_t length = strcspn(at, "|");
        char word[64];
        ovp_copy_string(word, sizeof word, (ovp_span){at, length});
        if (ovp_span_equals(name, word))
            return true;
        at += length + (at[length] == '|');
    }
    return false;
}

static const struct alloy_row *find(const char *alloy)
{
    ovp_span name = ovp_span_trim(ovp_span_of(alloy));
    for (size_t i = 0; i < alloy_count; i++)
        if (name.count == 0 ? alloys[i].usual != 0 : named(&alloys[i], name))
            return &alloys[i];
    return NULL;
}

static double step_C(size_t index)
{
    return index == 0 ? 20.0 : 100.0 * (double)index;
}

bool ovp_electrical_alloy_factor(const char *alloy, double temperature_C, double *factor)
{
    const struct alloy_row *row = find(alloy);
    if (row == NULL)
        return false;
    size_t last = ALLOY_STEPS - 1;
    while (last > 0 && isnan(row->factor[last]))
        last--;
    if (!(temperature_C > step_C(0))) {
        *factor = row->factor[0];
        return true;
    }
    size_t above = 1;
    while (above < last && step_C(above) < temperature_C)
        above++;
    double share = (temperature_C - step_C(above - 1)) / (step_C(above) - step_C(above - 1));
    if (share > 1.0)
        share = 1.0;
    *factor = row->factor[above - 1] + share * (row->factor[above] - row->factor[above - 1]);
    return true;
}

const char *ovp_electrical_usual_alloy(const char **source)
{
    const struct alloy_row *row = find("");
    if (source != NULL)
        *source = row->source;
    return row->alloy;
}
