#include "ovenproof/base.h"

#include <math.h>

bool ovp_add_size(size_t a, size_t b, size_t *result)
{
    if (a > SIZE_MAX - b)
        return false;
    *result = a + b;
    return true;
}

bool ovp_multiply_size(size_t a, size_t b, size_t *result)
{
    if (b != 0 && a > SIZE_MAX / b)
        return false;
    *result = a * b;
    return true;
}

double ovp_median(double values[], size_t count)
{
    for (size_t i = 1; i < count; i++) {
        double value = values[i];
        size_t at = i;
        for (; at > 0 && values[at - 1] > value; at--)
            values[at] = values[at - 1];
        values[at] = value;
    }
    if (count == 0)
        return NAN;
    return count % 2 == 1 ? values[count / 2] : 0.5 * (values[count / 2 - 1] + values[count / 2]);
}
