#include "pb_imu.h"

enum {
    FIFO_CTRL1 = 0x06,
    FIFO_CTRL2 = 0x07,
    FIFO_CTRL3 = 0x08,
    FIFO_CTRL4 = 0x09,
    FIFO_CTRL5 = 0x0a,
    INT1_CTRL = 0x0d,
    WHO_AM_I = 0x0f,
    CTRL1_XL = 0x10,
    CTRL2_G = 0x11,
    CTRL3_C = 0x12,
    CTRL4_C = 0x13,
    CTRL6_C = 0x15,
    CTRL7_G = 0x16,
    CTRL8_XL = 0x17,
    FIFO_STATUS1 = 0x3a,
    FIFO_DATA_OUT_L = 0x3e
};

#define WHO 0x6au
#define BLOCK_UPDATE_AND_INCREMENT 0x44u
#define BOTH_SENSORS_EACH_SAMPLE 0x09u
#define INT1_AT_THRESHOLD 0x08u
#define BYPASS 0x00u
#define CONTINUOUS 0x06u
#define RAN_OVER 0x40u
#define FIFO_WORDS 2048u

static uint8_t rate_code(uint16_t rate_hz) {
    switch (rate_hz) {
    case 52:
        return 3;
    case 104:
        return 4;
    case 416:
        return 6;
    default:
        return 5; /* 208 */
    }
}

static uint8_t gyr_code(uint16_t range_deg_s) {
    switch (range_deg_s) {
    case 125:
        return 0x02;
    case 250:
        return 0x00;
    case 500:
        return 0x04;
    case 1000:
        return 0x08;
    default:
        return 0x0c; /* 2000 */
    }
}

static uint8_t acc_code(uint8_t range_g) {
    switch (range_g) {
    case 2:
        return 0x00;
    case 4:
        return 0x08;
    case 8:
        return 0x0c;
    default:
        return 0x04; /* 16 */
    }
}

static bool put(const pb_bus *bus, uint8_t reg, unsigned value) { return bus->write(bus->context, reg, (uint8_t)value); }

pb_fifo pb_fifo_of(const uint8_t status[4]) {
    const unsigned n_words = status[0] | ((status[1] & 0x07u) << 8);
    const unsigned pattern = status[2] | ((status[3] & 0x03u) << 8);
    pb_fifo fifo = {PB_FIFO_FINE, (uint16_t)(n_words / PB_AXES)};
    /* With no room for one sample more, the oldest may be overwritten between this look and the reading. */
    const bool full = n_words + PB_AXES > FIFO_WORDS;
    if ((status[1] & RAN_OVER) != 0u || full || (n_words > 0u && pattern != 0u)) {
        fifo.state = PB_FIFO_BROKEN;
        fifo.n_samples = 0;
    }
    return fifo;
}

void pb_fifo_sample(const uint8_t bytes[PB_SAMPLE_BYTES], int16_t raw[PB_AXES]) {
    for (unsigned axis = 0; axis < PB_AXES; ++axis) {
        raw[axis] = (int16_t)(bytes[2u * axis] | ((unsigned)bytes[2u * axis + 1u] << 8));
    }
}

bool pb_imu_flush(const pb_bus *bus, pb_settings settings) {
    return put(bus, FIFO_CTRL5, BYPASS) &&
           put(bus, FIFO_CTRL5, ((unsigned)rate_code(settings.rate_hz) << 3) | CONTINUOUS);
}

bool pb_imu_start(const pb_bus *bus, pb_settings settings) {
    const unsigned threshold_words = pb_samples_at_once(settings.rate_hz) * PB_AXES;
    const unsigned rate = (unsigned)rate_code(settings.rate_hz) << 4;
    uint8_t who = 0;
    return bus->read(bus->context, WHO_AM_I, &who, 1) && who == WHO &&
           put(bus, CTRL3_C, BLOCK_UPDATE_AND_INCREMENT) &&
           put(bus, FIFO_CTRL5, BYPASS) &&
           put(bus, CTRL4_C, 0) && /* gyroscope: the low-pass of the rate alone */
           put(bus, CTRL6_C, 0) && put(bus, CTRL7_G, 0) && /* high performance, both */
           put(bus, CTRL8_XL, 0) && /* accelerometer: low-pass at half the rate */
           put(bus, FIFO_CTRL1, threshold_words & 0xffu) && put(bus, FIFO_CTRL2, threshold_words >> 8) &&
           put(bus, FIFO_CTRL3, BOTH_SENSORS_EACH_SAMPLE) && put(bus, FIFO_CTRL4, 0) &&
           put(bus, INT1_CTRL, INT1_AT_THRESHOLD) &&
           put(bus, CTRL1_XL, rate | acc_code(settings.acc_range_g)) &&
           put(bus, CTRL2_G, rate | gyr_code(settings.gyr_range_deg_s)) && pb_imu_flush(bus, settings);
}

bool pb_imu_stop(const pb_bus *bus) {
    return put(bus, CTRL1_XL, 0) && put(bus, CTRL2_G, 0) && put(bus, FIFO_CTRL5, BYPASS);
}

bool pb_imu_status(const pb_bus *bus, pb_fifo *fifo) {
    uint8_t status[4] = {0, 0, 0, 0};
    if (!bus->read(bus->context, FIFO_STATUS1, status, sizeof(status))) {
        return false;
    }
    *fifo = pb_fifo_of(status);
    return true;
}

bool pb_imu_read(const pb_bus *bus, uint8_t *into, uint16_t n_samples) {
    return bus->read(bus->context, FIFO_DATA_OUT_L, into, (uint16_t)(n_samples * PB_SAMPLE_BYTES));
}

uint32_t pb_imu_delay_us(uint16_t rate_hz) {
    /* sqrt(2) / (2 pi f) for a second-order Butterworth low-pass at f. The data sheet's cut-offs are 16.6, 33, 66.8 and
       135.9 Hz at these rates (from memory); that the filter is of that kind is assumed: measure it on a board. */
    switch (rate_hz) {
    case 52:
        return 13559;
    case 104:
        return 6821;
    case 416:
        return 1656;
    default:
        return 3370; /* 208 */
    }
}
