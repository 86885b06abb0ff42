#include "pb_clock.h"

#define COUNTER_MASK 0xffffffu
#define HALF 0x800000u

/* 1 s / 32 768 is 15 625 / 512 us exactly. */
static uint64_t us_of(uint64_t ticks) { return ticks * 15625u / 512u; }

uint64_t pb_clock_us(pb_clock *clock, uint32_t counter) {
    clock->ticks += (counter - (uint32_t)(clock->ticks & COUNTER_MASK)) & COUNTER_MASK;
    return us_of(clock->ticks);
}

uint64_t pb_clock_at_us(const pb_clock *clock, uint32_t counter) {
    const uint32_t ahead = (counter - (uint32_t)(clock->ticks & COUNTER_MASK)) & COUNTER_MASK;
    if (ahead < HALF) {
        return us_of(clock->ticks + ahead);
    }
    const uint64_t behind = COUNTER_MASK + 1u - ahead;
    return us_of(clock->ticks > behind ? clock->ticks - behind : 0u);
}
