#include "pb_settings.h"

#include <stddef.h>

#include "pb_profile.h"

static const uint16_t rates_hz[] = {52, 104, 208, 416};
static const uint16_t gyr_ranges_deg_s[] = {125, 250, 500, 1000, 2000};
static const uint16_t acc_ranges_g[] = {2, 4, 8, 16};

#define LENGTH(array) (sizeof(array) / sizeof((array)[0]))

pb_settings pb_usual_settings(void) {
    const pb_settings usual = {208, 2000, 16};
    return usual;
}

bool pb_settings_equal(pb_settings a, pb_settings b) {
    return a.rate_hz == b.rate_hz && a.gyr_range_deg_s == b.gyr_range_deg_s && a.acc_range_g == b.acc_range_g;
}

bool pb_settings_set_rate(pb_settings *settings, uint16_t wanted_hz) {
    for (size_t i = 0; i < LENGTH(rates_hz); ++i) {
        const int32_t off_hz = (int32_t)wanted_hz - (int32_t)rates_hz[i];
        if ((off_hz < 0 ? -off_hz : off_hz) * 20 <= (int32_t)rates_hz[i]) {
            settings->rate_hz = rates_hz[i];
            return true;
        }
    }
    return false;
}

static bool is_among(const uint16_t *values, size_t n, uint16_t wanted) {
    for (size_t i = 0; i < n; ++i) {
        if (values[i] == wanted) {
            return true;
        }
    }
    return false;
}

bool pb_settings_set_gyr_range(pb_settings *settings, uint16_t wanted_deg_s) {
    const bool offered = is_among(gyr_ranges_deg_s, LENGTH(gyr_ranges_deg_s), wanted_deg_s);
    settings->gyr_range_deg_s = offered ? wanted_deg_s : settings->gyr_range_deg_s;
    return offered;
}

bool pb_settings_set_acc_range(pb_settings *settings, uint8_t wanted_g) {
    const bool offered = is_among(acc_ranges_g, LENGTH(acc_ranges_g), wanted_g);
    settings->acc_range_g = offered ? wanted_g : settings->acc_range_g;
    return offered;
}

uint8_t pb_samples_at_once(uint16_t rate_hz) {
    switch (rate_hz) {
    case 52:
        return 3;
    case 104:
        return 5;
    case 416:
        return 18; /* 19 would fit, but divides into nothing */
    default:
        return 10; /* 208 */
    }
}

uint8_t pb_samples_per_packet(uint16_t rate_hz, uint16_t mtu) {
    const unsigned at_once = pb_samples_at_once(rate_hz);
    for (unsigned n = at_once; n > 1u; --n) {
        if (at_once % n == 0u && PB_HEADER_BYTES + n * PB_SAMPLE_BYTES + PB_NOTIFICATION_BYTES <= mtu) {
            return (uint8_t)n;
        }
    }
    return 1;
}

void pb_settings_tell(pb_settings settings, uint8_t into[PB_STATUS_BYTES]) {
    into[0] = PB_VERSION;
    into[1] = (uint8_t)(settings.rate_hz & 0xffu);
    into[2] = (uint8_t)(settings.rate_hz >> 8);
    into[3] = (uint8_t)(settings.gyr_range_deg_s & 0xffu);
    into[4] = (uint8_t)(settings.gyr_range_deg_s >> 8);
    into[5] = settings.acc_range_g;
}
