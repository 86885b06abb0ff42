#include "pb_battery.h"

#include <stddef.h>

#define STEADY_PCT 2

typedef struct {
    uint16_t mv;
    uint8_t pct;
} point;

uint8_t pb_battery_pct_of(uint16_t cell_mv) {
    static const point curve[] = {{3300, 0},  {3500, 5},  {3600, 10}, {3680, 20}, {3740, 30}, {3770, 40},
                                  {3790, 50}, {3830, 60}, {3890, 70}, {3970, 80}, {4080, 90}, {4180, 100}};
    static const size_t n = sizeof(curve) / sizeof(curve[0]);
    if (cell_mv <= curve[0].mv) {
        return 0;
    }
    for (size_t i = 1; i < n; ++i) {
        if (cell_mv < curve[i].mv) {
            const point low = curve[i - 1], high = curve[i];
            return (uint8_t)(low.pct + (cell_mv - low.mv) * (high.pct - low.pct) / (high.mv - low.mv));
        }
    }
    return 100;
}

uint8_t pb_battery_measured(pb_battery *battery, uint16_t cell_mv) {
    if (battery->smooth_mv_16 == 0u) {
        battery->smooth_mv_16 = (uint32_t)cell_mv * 16u;
        battery->pct = pb_battery_pct_of(cell_mv);
        return battery->pct;
    }
    battery->smooth_mv_16 += cell_mv;
    battery->smooth_mv_16 -= battery->smooth_mv_16 / 17u;
    const int pct = pb_battery_pct_of((uint16_t)(battery->smooth_mv_16 / 16u));
    const int off = pct - (int)battery->pct;
    if (off >= STEADY_PCT || off <= -STEADY_PCT || pct == 0 || pct == 100) {
        battery->pct = (uint8_t)pct;
    }
    return battery->pct;
}
