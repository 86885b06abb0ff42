/* What the light shows at a moment. */
#ifndef PB_LED_H
#define PB_LED_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PB_RED 1u
#define PB_GREEN 2u
#define PB_BLUE 4u
#define PB_WHITE (PB_RED | PB_GREEN | PB_BLUE)
#define PB_LOW_BATTERY_PCT 10u

typedef struct {
    bool fault, connected, streaming;
    uint8_t battery_pct;
    uint64_t identify_since_us, identify_until_us;
} pb_led_show;

/* Identify: white, four times a second. IMU does not answer: red. Else a 30 ms flash every two seconds: green streaming,
   blue and green connected, blue waiting for a connection; red before it when the battery is low. */
uint8_t pb_led(pb_led_show show, uint64_t now_us);

#ifdef __cplusplus
}
#endif
#endif
