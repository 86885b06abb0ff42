/* The open sensor profile, version 1: numbers of sensors/profiles/README.md that the board needs. */
#ifndef PB_PROFILE_H
#define PB_PROFILE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PB_VERSION 1u
#define PB_HEADER_BYTES 8u
#define PB_AXES 6u
#define PB_SAMPLE_BYTES 12u
#define PB_MAX_SAMPLES 19u
#define PB_MAX_PACKET_BYTES (PB_HEADER_BYTES + PB_MAX_SAMPLES * PB_SAMPLE_BYTES)

/* Connection that the board asks for, as data: intervals in 1.25 ms, time-out in 10 ms (Bluetooth Core, vol. 3 part C 12.3). */
#define PB_INTERVAL_MIN_1_25_MS 12u /* 15 ms */
#define PB_INTERVAL_MAX_1_25_MS 24u /* 30 ms */
#define PB_LATENCY_EVENTS 0u
#define PB_SUPERVISION_10_MS 200u /* 2 s: a drop is noticed in that time */
#define PB_ATT_MTU 247u
#define PB_LEAST_ATT_MTU 23u /* what every connection begins with; it holds one sample */
#define PB_NOTIFICATION_BYTES 3u /* of them, around what is notified */

/* 128-bit identifiers, least significant byte first, as radio stacks take them. */
extern const uint8_t pb_service_uuid[16];
extern const uint8_t pb_data_uuid[16];
extern const uint8_t pb_control_uuid[16];

#ifdef __cplusplus
}
#endif
#endif
