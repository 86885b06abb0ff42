#include "pb_packet.h"

#include <stddef.h>

int16_t pb_gyr_count(int16_t raw) {
    const int32_t scaled = (int32_t)raw * 3584;
    const int32_t rounded = (scaled + (scaled < 0 ? -1562 : 1562)) / 3125;
    if (rounded > INT16_MAX) {
        return INT16_MAX;
    }
    return (int16_t)(rounded < INT16_MIN ? INT16_MIN : rounded);
}

void pb_packet_pack(pb_packet *packet, uint16_t sequence, uint32_t clock_us, const int16_t *counts, uint8_t n_samples) {
    uint8_t *at = packet->bytes;
    packet->sequence = sequence;
    packet->n_bytes = (uint8_t)(PB_HEADER_BYTES + n_samples * PB_SAMPLE_BYTES);
    *at++ = PB_VERSION;
    *at++ = n_samples;
    *at++ = (uint8_t)(sequence & 0xffu);
    *at++ = (uint8_t)(sequence >> 8);
    for (unsigned shift = 0; shift < 32u; shift += 8u) {
        *at++ = (uint8_t)((clock_us >> shift) & 0xffu);
    }
    for (size_t i = 0; i < (size_t)n_samples * PB_AXES; ++i) {
        const uint16_t count = (uint16_t)counts[i];
        *at++ = (uint8_t)(count & 0xffu);
        *at++ = (uint8_t)(count >> 8);
    }
}
