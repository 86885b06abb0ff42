/* The LSM6DS3TR-C: set up, FIFO status, FIFO contents.

   Registers as in the data sheet LSM6DS3TR-C (STMicroelectronics, DocID030071), from memory, and checked against the
   register header of the maker's own driver for the part. The FIFO holds 4096 bytes: 2048 words of 16 bits, 341 samples.
   With both sensors at one rate and no decimation the words of a sample are gyroscope x y z, accelerometer x y z, and the
   pattern register tells which of the six the next word read will be. */
#ifndef PB_IMU_H
#define PB_IMU_H

#include "pb_bus.h"
#include "pb_profile.h"
#include "pb_settings.h"

#ifdef __cplusplus
extern "C" {
#endif

#define PB_IMU_I2C_ADDRESS 0x6au
#define PB_IMU_BURST_SAMPLES 5u /* 60 bytes: the board's Wire buffer holds 64, from memory */

typedef enum { PB_FIFO_FINE, PB_FIFO_BROKEN } pb_fifo_state;

typedef struct {
    pb_fifo_state state; /* broken: it ran over or is about to, or the next word is not a sample's first */
    uint16_t n_samples;  /* whole samples waiting */
} pb_fifo;

/* The four status registers from 0x3a. Pure. */
pb_fifo pb_fifo_of(const uint8_t status[4]);

/* Twelve bytes of the FIFO to six raw values. Pure. */
void pb_fifo_sample(const uint8_t bytes[PB_SAMPLE_BYTES], int16_t raw[PB_AXES]);

/* Each false when the bus failed or, for `start`, when no such part answers. */
bool pb_imu_start(const pb_bus *bus, pb_settings settings);
bool pb_imu_stop(const pb_bus *bus);
bool pb_imu_flush(const pb_bus *bus, pb_settings settings);
bool pb_imu_status(const pb_bus *bus, pb_fifo *fifo);
bool pb_imu_read(const pb_bus *bus, uint8_t *into, uint16_t n_samples); /* at most PB_IMU_BURST_SAMPLES */

/* Group delay of the gyroscope's low-pass for slow motion, microseconds; see pb_imu.c. */
uint32_t pb_imu_delay_us(uint16_t rate_hz);

#ifdef __cplusplus
}
#endif
#endif
