/* What the core needs of a board: the IMU's registers and the time. */
#ifndef PB_BUS_H
#define PB_BUS_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    void *context;
    /* Read n bytes from `reg` on. A burst from the FIFO's output stays on it. False when the bus failed. */
    bool (*read)(void *context, uint8_t reg, uint8_t *into, uint16_t n);
    bool (*write)(void *context, uint8_t reg, uint8_t value);
    /* Board clock, microseconds; never steps back. */
    uint64_t (*now_us)(void *context);
} pb_bus;

#endif
