#include "pb_led.h"

#define PERIOD_US 2000000u
#define FLASH_US 30000u
#define BLINK_US 125000u

uint8_t pb_led(pb_led_show show, uint64_t now_us) {
    const uint64_t phase_us = now_us % PERIOD_US;
    if (now_us >= show.identify_since_us && now_us < show.identify_until_us) {
        return (now_us - show.identify_since_us) / BLINK_US % 2u == 0u ? PB_WHITE : 0u;
    }
    if (show.fault) {
        return PB_RED;
    }
    if (show.battery_pct <= PB_LOW_BATTERY_PCT && phase_us < 2u * FLASH_US) {
        return phase_us < FLASH_US ? PB_RED : 0u;
    }
    if (phase_us < 2u * FLASH_US || phase_us >= 3u * FLASH_US) {
        return 0u;
    }
    if (show.streaming) {
        return PB_GREEN;
    }
    return show.connected ? (uint8_t)(PB_BLUE | PB_GREEN) : (uint8_t)PB_BLUE;
}
