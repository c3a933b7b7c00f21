#include "ovenproof/base.h"

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
