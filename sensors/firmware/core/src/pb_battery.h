/* Cell voltage to per cent, smoothed so that the figure does not dance. */
#ifndef PB_BATTERY_H
#define PB_BATTERY_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Of a single lithium-polymer cell under a light load. Common practice, no source. */
uint8_t pb_battery_pct_of(uint16_t cell_mv);

typedef struct {
    uint32_t smooth_mv_16; /* millivolts times 16; 0 before the first */
    uint8_t pct;
} pb_battery;

/* Take in a measurement; gives the per cent to show. It moves when it is off by 2 or more. */
uint8_t pb_battery_measured(pb_battery *battery, uint16_t cell_mv);

#ifdef __cplusplus
}
#endif
#endif
