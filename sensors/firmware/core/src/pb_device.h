/* The whole board but its pins: give it a bus, tell it what the radio says, poll it, send what waits. */
#ifndef PB_DEVICE_H
#define PB_DEVICE_H

#include "pb_battery.h"
#include "pb_bus.h"
#include "pb_clock.h"
#include "pb_control.h"
#include "pb_imu.h"
#include "pb_led.h"
#include "pb_stream.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct {
    pb_stream stream;
    bool running; /* the IMU is */
    bool fault;   /* it did not answer when last spoken to */
    uint32_t running_beginning;
    uint64_t retry_us;
    bool silent; /* nothing came to what was left in the FIFO */
    uint16_t n_left;
    uint64_t silent_since_us;
} pb_device;

void pb_device_init(pb_device *device);

/* Do what is due: switch the IMU, empty its FIFO. `edge_us`: when the threshold's interrupt came, if it came while the FIFO
   was left alone, that is after the last poll returned and before this one; else NULL. */
void pb_device_poll(pb_device *device, const pb_bus *bus, const uint64_t *edge_us);

/* What the light shall show. */
pb_led_show pb_device_show(const pb_device *device, uint8_t battery_pct);

#ifdef __cplusplus
}
#endif
#endif
