/* One notification from counts, and counts from the part's raw values. */
#ifndef PB_PACKET_H
#define PB_PACKET_H

#include <stdint.h>

#include "pb_profile.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The part's gyroscope steps are 35 mdeg/s per count at 1000 deg/s: 1.14688 (3584/3125) of the profile's range/32768 at
   every range. Rates beyond the range come out as the end of the scale, which the profile reads as saturated.
   The accelerometer's steps are the profile's own to 0.06 % (0.488 mg at 16 g), and pass as they are. */
int16_t pb_gyr_count(int16_t raw);

typedef struct {
    uint16_t sequence;
    uint8_t n_bytes;
    uint8_t bytes[PB_MAX_PACKET_BYTES];
} pb_packet;

/* `counts`: n_samples x 6, gyroscope x y z then accelerometer x y z, oldest first; 1 to 19 samples. */
void pb_packet_pack(pb_packet *packet, uint16_t sequence, uint32_t clock_us, const int16_t *counts, uint8_t n_samples);

#ifdef __cplusplus
}
#endif
#endif
