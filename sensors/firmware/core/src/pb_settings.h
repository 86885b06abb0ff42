/* Rate and ranges that the board can run, and what it tells about those in force. */
#ifndef PB_SETTINGS_H
#define PB_SETTINGS_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PB_STATUS_BYTES 6u

typedef struct {
    uint16_t rate_hz; /* one of 52, 104, 208, 416: the part's own grid */
    uint16_t gyr_range_deg_s;
    uint8_t acc_range_g;
} pb_settings;

/* 208 Hz, 2000 deg/s, 16 g: what a reader that writes nothing gets. */
pb_settings pb_usual_settings(void);

bool pb_settings_equal(pb_settings a, pb_settings b);

/* Put a wanted value in place. False, and nothing changed, if the board has none such.
   A rate is taken if one of the board's lies within 5 %: 200 gives 208. */
bool pb_settings_set_rate(pb_settings *settings, uint16_t wanted_hz);
bool pb_settings_set_gyr_range(pb_settings *settings, uint16_t wanted_deg_s);
bool pb_settings_set_acc_range(pb_settings *settings, uint8_t wanted_g);

/* How many samples are taken out of the FIFO at once: about 20 times a second at every rate, and a number that divides. */
uint8_t pb_samples_at_once(uint16_t rate_hz);

/* How many of them make a packet: all, or as many as make equal packets that a connection's ATT_MTU holds. */
uint8_t pb_samples_per_packet(uint16_t rate_hz, uint16_t mtu);

/* The answer to a read of the control characteristic: version, rate, gyroscope range, accelerometer range. */
void pb_settings_tell(pb_settings settings, uint8_t into[PB_STATUS_BYTES]);

#ifdef __cplusplus
}
#endif
#endif
