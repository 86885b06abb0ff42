/* The board's clock: a 24-bit counter at 32 768 Hz, which wraps every 512 s, made one that does not wrap.
   Read it at least once in those 512 s. */
#ifndef PB_CLOCK_H
#define PB_CLOCK_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct {
    uint64_t ticks;
} pb_clock;

/* Microseconds since the counter began, from its value now. */
uint64_t pb_clock_us(pb_clock *clock, uint32_t counter);

/* Microseconds of a value that was taken (by an interrupt) at most 256 s before or after the last `pb_clock_us`. */
uint64_t pb_clock_at_us(const pb_clock *clock, uint32_t counter);

#ifdef __cplusplus
}
#endif
#endif
