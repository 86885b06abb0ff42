#include "board_time.h"

#include <Arduino.h>
#include <pb_clock.h>

static pb_clock boardClock;

void boardTimeBegin() {
  NRF_RTC2->PRESCALER = 0;
  NRF_RTC2->TASKS_CLEAR = 1;
  NRF_RTC2->TASKS_START = 1;
}

uint32_t boardTicks() { return NRF_RTC2->COUNTER; }

uint64_t boardTimeUs() {
  taskENTER_CRITICAL();
  const uint64_t us = pb_clock_us(&boardClock, boardTicks());
  taskEXIT_CRITICAL();
  return us;
}

uint64_t boardTimeAtUs(uint32_t ticks) {
  taskENTER_CRITICAL();
  const uint64_t us = pb_clock_at_us(&boardClock, ticks);
  taskEXIT_CRITICAL();
  return us;
}
