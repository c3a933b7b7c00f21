#include "text_internal.h"

#include <assert.h>

static void trim(text_big *big)
{
    while (big->count > 0 && big->limb[big->count - 1] == 0)
        big->count--;
}

static void push(text_big *big, uint32_t limb)
{
    assert(big->count < TEXT_BIG_LIMBS);
    big->limb[big->count++] = limb;
}

void text_big_set(text_big *big, uint64_t value)
{
    big->count = 2;
    big->limb[0] = (uint32_t)value;
    big->limb[1] = (uint32_t)(value >> 32);
    trim(big);
}

void text_big_multiply_add(text_big *big, uint32_t factor, uint32_t addend)
{
    uint64_t carry = addend;
    for (size_t i = 0; i < big->count; i++) {
        carry += (uint64_t)big->limb[i] * factor;
        big->limb[i] = (uint32_t)carry;
        carry >>= 32;
    }
    if (carry != 0)
        push(big, (uint32_t)carry);
    trim(big);
}

void text_big_multiply_power_of_ten(text_big *big, unsigned exponent)
{
    for (; exponent >= 9; exponent -= 9)
        text_big_multiply_add(big, 1000000000u, 0);
    for (; exponent > 0; exponent--)
        text_big_multiply_add(big, 10, 0);
}

void text_big_shift_left(text_big *big, unsigned bits)
{
    if (big->count == 0 || bits == 0)
        return;
    size_t limbs = bits / 32;
    unsigned rest = bits % 32;
    size_t count = big->count;
    assert(count + limbs + 1 <= TEXT_BIG_LIMBS);
    uint32_t above = 0;
    for (size_t i = count; i-- > 0;) {
        uint32_t limb = big->limb[i];
        uint64_t wide = (uint64_t)limb << rest;
        big->limb[i + limbs + 1] = above | (uint32_t)(wide >> 32);
        above = (uint32_t)wide;
    }
    big->limb[limbs] = above;
    for (size_t i = 0; i < limbs; i++)
        big->limb[i] = 0;
    big->count = count + limbs + 1;
    trim(big);
}

void text_big_add(text_big *big, const text_big *other)
{
    uint64_t carry = 0;
    for (size_t i = 0; i < other->count || carry != 0; i++) {
        if (i == big->count)
            push(big, 0);
        carry += (uint64_t)big->limb[i] + (i < other->count ? other->limb[i] : 0);
        big->limb[i] = (uint32_t)carry;
        carry >>= 32;
    }
}

void text_big_subtract(text_big *big, const text_big *other)
{
    uint64_t borrow = 0;
    for (size_t i = 0; i < big->count; i++) {
        uint64_t take = borrow + (i < other->count ? other->limb[i] : 0);
        borrow = big->limb[i] < take;
        big->limb[i] = (uint32_t)(big->limb[i] - take);
    }
    assert(borrow == 0);
    trim(big);
}

int text_big_compare(const text_big *a, const text_big *b)
{
    if (a->count != b->count)
        return a->count < b->count ? -1 : 1;
    for (size_t i = a->count; i-- > 0;)
        if (a->limb[i] != b->limb[i])
            return a->limb[i] < b->limb[i] ? -1 : 1;
    return 0;
}

uint32_t text_big_divide_small(text_big *big, uint32_t divisor)
{
    uint64_t rest = 0;
    for (size_t i = big->count; i-- > 0;) {
        rest = rest << 32 | big->limb[i];
        big->limb[i] = (uint32_t)(rest / divisor);
        rest %= divisor;
    }
    trim(big);
    return (uint32_t)rest;
}

unsigned text_big_bits(const text_big *big)
{
    if (big->count == 0)
        return 0;
    unsigned bits = (unsigned)(big->count - 1) * 32;
    for (uint32_t top = big->limb[big->count - 1]; top != 0; top >>= 1)
        bits++;
    return bits;
}
