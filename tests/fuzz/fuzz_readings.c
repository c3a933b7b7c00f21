/* Readings of a comparison: read or refused with words and a line, and the same however the bytes are cut. */
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

static ovp_status read_in_pieces(const char *bytes, size_t count, size_t piece,
                                 ovp_metrology_readings *readings, ovp_error *error)
{
    static void *memory;
    static const ovp_tc_type sensor = OVP_TC_K;
    if (memory == NULL)
        memory = malloc(ovp_metrology_reader_size());
    expect(memory != NULL);
    ovp_metrology_reader *reader = ovp_metrology_reader_init(memory, &sensor, readings);
    for (size_t at = 0; at < count; at += piece) {
        size_t part = count - at < piece ? count - at : piece;
        ovp_status status = ovp_metrology_reader_feed(reader, bytes + at, part, error);
        if (status != OVP_OK)
            return status;
    }
    return ovp_metrology_reader_end(reader, error);
}

static void check_points(const ovp_metrology_readings *readings)
{
    size_t rows = 0;
    expect(readings->point_count > 0 && readings->point_count <= OVP_METROLOGY_POINTS);
    for (size_t i = 0; i < readings->point_count; i++) {
        ovp_metrology_result result;
        ovp_metrology_point_result(readings->points + i, 2.0, &result);
        expect(isfinite(result.error_C) && isfinite(result.expanded_uncertainty_C));
        expect(result.expanded_uncertainty_C >= 0.0);
        expect(!result.reference_assumed || result.decision != OVP_METROLOGY_PASS);
        rows += readings->points[i].count;
    }
    expect(rows == readings->rows);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_metrology_readings whole, cut;
    ovp_error error = {0}, cut_error = {0};
    const char *bytes = (const char *)data;
    ovp_status status = read_in_pieces(bytes, size, size > 0 ? size : 1, &whole, &error);
    ovp_status cut_status = read_in_pieces(bytes, size, 3, &cut, &cut_error);
    expect(status == cut_status);
    if (status == OVP_OK) {
        check_points(&whole);
        expect(memcmp(&whole.point_count, &cut.point_count, sizeof whole.point_count) == 0);
    } else {
        expect(status == OVP_ERROR_DATA);
        expect(error.what[0] != '\0' && error.hint[0] != '\0');
        expect(strcmp(error.what, cut_error.what) == 0 && error.line == cut_error.line);
    }
    return 0;
}
