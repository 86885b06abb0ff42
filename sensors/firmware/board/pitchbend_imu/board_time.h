// The board's clock: RTC2, 32 768 Hz from the crystal, which runs on in sleep. The radio has RTC0 and FreeRTOS RTC1.
#pragma once

#include <stdint.h>

void boardTimeBegin();
// The 24-bit counter, for interrupts.
uint32_t boardTicks();
// Microseconds since the start. Call it at least every few minutes; from any task.
uint64_t boardTimeUs();
// Microseconds of a counter value that an interrupt took.
uint64_t boardTimeAtUs(uint32_t ticks);
