/*
 * The numbers of rows that fit their mould, two at once, where the processor has the instructions for it
 * (this is asked when the program runs). The steps are those of trace_eight_digits: pairs of digits to
 * hundreds, those to ten thousands, those to a number below 2^27, which is exact, and one division, which
 * rounds once.
 */
#include "reader_internal.h"

#include <string.h>

#if defined(__x86_64__) && defined(__GNUC__)

#include <immintrin.h>

bool trace_pairs_here(void)
{
    return __builtin_cpu_supports("avx2");
}

/* False where a value is none. */
__attribute__((target("avx2"))) static inline bool
take_pair(const ovp_trace_reader *reader, const mould_pair *pair, const char *row, ovp_trace_sample *sample)
{
    const __m128i tens = _mm_set1_epi16(0x010A), hundreds = _mm_set1_epi32(0x00010064),
                  thousands = _mm_set1_epi32(0x00012710);
    __m128i text = _mm_set_epi64x((long long)trace_eight_bytes(row + pair->at[1]),
                                  (long long)trace_eight_bytes(row + pair->at[0]));
    __m128i digits = _mm_shuffle_epi8(_mm_xor_si128(text, _mm_set1_epi8('0')), (__m128i)pair->order);
    __m128i fours = _mm_madd_epi16(_mm_maddubs_epi16(digits, tens), hundreds);
    __m128i whole = _mm_madd_epi16(_mm_packs_epi32(fours, fours), thousands);
    __m128d values = _mm_div_pd(_mm_cvtepi32_pd(whole), _mm_loadu_pd(pair->divisor));
    if (!pair->as_they_are) {
        double both[2];
        _mm_storeu_pd(both, values);
        values = _mm_set_pd(trace_plain_converted(&reader->plain.columns[pair->column[1]], both[1]),
                            trace_plain_converted(&reader->plain.columns[pair->column[0]], both[0]));
    }
    _mm_storel_pd((double *)(void *)((char *)sample + pair->place[0]), values);
    _mm_storeh_pd((double *)(void *)((char *)sample + pair->place[1]), values);
    return _mm_movemask_pd(_mm_cmpge_pd(values, _mm_loadu_pd(pair->least))) == 3;
}

__attribute__((target("avx2"))) static inline bool take_row(const ovp_trace_reader *reader, const mould *one,
                                                            const char *row, ovp_trace_sample *sample)
{
    bool good = true;
    if (reader->plain.clock >= 0)
        sample->time_s = trace_time_in_hour(&reader->hour, row + one->clock_at);
    for (size_t i = 0; i < one->pair_count; i++)
        good &= take_pair(reader, &one->pairs[i], row, sample);
    return good;
}

/* Rows of one shape, as many as the batch has room for. */
__attribute__((target("avx2"))) static inline const char *
take_rows(ovp_trace_reader *reader, const mould *one, const char *at, const char *limit)
{
    trace_plain *plain = &reader->plain;
    ovp_trace_sample *sample = trace_plain_next(reader), *end = plain->batch + PLAIN_BATCH;
    while (take_row(reader, one, at, sample)) {
        at += one->length;
        sample++;
        if (at > limit || sample == end || !trace_mould_fits(one, at))
            break;
    }
    plain->batched = (size_t)(sample - plain->batch);
    return at;
}

__attribute__((target("avx2"))) const char *trace_pair_rows(ovp_trace_reader *reader, const char *at,
                                                            const char *limit)
{
    trace_plain *plain = &reader->plain;
    while (at <= limit) {
        const mould *one = trace_mould_find(plain, at);
        const char *next = one != NULL ? take_rows(reader, one, at, limit) : at;
        if (next == at)
            break;
        plain->last = one;
        at = next;
    }
    return at;
}

#else

bool trace_pairs_here(void)
{
    return false;
}

const char *trace_pair_rows(ovp_trace_reader *reader, const char *at, const char *limit)
{
    (void)reader;
    (void)limit;
    return at;
}

#endif
