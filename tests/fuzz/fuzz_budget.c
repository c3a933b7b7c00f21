/* Leaves of a budget file, a line each, PATH=TEXT: set or refused with words; a whole file judges a point or
 * says why not. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void set_line(ovp_metrology_budget_file *file, ovp_span line)
{
    char path[128];
    const char *equals = line.count > 0 ? memchr(line.bytes, '=', line.count) : NULL;
    if (equals == NULL)
        return;
    size_t length = (size_t)(equals - line.bytes);
    if (!ovp_copy_string(path, sizeof path, (ovp_span){line.bytes, length}))
        return;
    ovp_error error = {0};
    ovp_span text = {equals + 1, line.count - length - 1};
    if (ovp_metrology_budget_set(file, path, text, &error) != OVP_OK)
        expect(error.status == OVP_ERROR_DATA && error.what[0] != '\0');
}

static void judge(const ovp_metrology_budget_file *file)
{
    static const ovp_tc_type sensor = OVP_TC_N;
    ovp_metrology_point point;
    ovp_metrology_parts parts;
    ovp_metrology_result result;
    ovp_error error = {0};
    ovp_metrology_point_init(&point, 500.0, NAN, 0.1);
    ovp_metrology_point_add(&point, 500.0, 501.0);
    if (ovp_metrology_point_with_budget(&point, 2.0, file, &sensor, &parts, &result, &error) != OVP_OK) {
        expect(error.status == OVP_ERROR_DATA && error.what[0] != '\0');
        return;
    }
    expect(parts.budget.count > 0 && parts.budget.count <= OVP_METROLOGY_INPUTS);
    expect(isfinite(result.expanded_uncertainty_C) && result.expanded_uncertainty_C >= 0.0);
    expect(result.decision != OVP_METROLOGY_PASS);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_metrology_budget_file file;
    ovp_metrology_budget_init(&file);
    ovp_span rest = {(const char *)data, size};
    while (rest.count > 0) {
        const char *end = memchr(rest.bytes, '\n', rest.count);
        size_t length = end != NULL ? (size_t)(end - rest.bytes) : rest.count;
        set_line(&file, (ovp_span){rest.bytes, length});
        size_t used = length + (end != NULL ? 1 : 0);
        rest = (ovp_span){rest.bytes + used, rest.count - used};
    }
    expect(file.count <= OVP_METROLOGY_LINES);
    if (ovp_metrology_budget_check(&file, NULL) == OVP_OK)
        judge(&file);
    return 0;
}
