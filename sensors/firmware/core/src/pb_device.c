#include "pb_device.h"

#define RETRY_US 500000u
#define SILENT_US 500000u

void pb_device_init(pb_device *device) {
    pb_stream_init(&device->stream);
    device->running = false;
    device->fault = false;
    device->running_beginning = 0;
    device->retry_us = 0;
    device->silent = false;
    device->n_left = 0;
    device->silent_since_us = 0;
}

/* Something is wrong with the FIFO: empty it, and let the count show what that cost. */
static void recover(pb_device *device, const pb_bus *bus) {
    device->fault = !pb_imu_flush(bus, device->stream.settings);
    device->silent = false;
    device->n_left = 0;
    pb_stream_broken(&device->stream, false);
}

/* Nothing comes to what was left in the FIFO: the IMU lost its settings with its supply. Set it up again. */
static void restart(pb_device *device, const pb_bus *bus) {
    device->fault = !pb_imu_start(bus, device->stream.settings);
    device->silent = false;
    device->n_left = 0;
    pb_stream_broken(&device->stream, true);
}

static bool silent_for_long(pb_device *device, bool silent, uint64_t now_us) {
    if (silent && !device->silent) {
        device->silent_since_us = now_us;
    }
    device->silent = silent;
    return silent && now_us - device->silent_since_us >= SILENT_US;
}

static void drain(pb_device *device, const pb_bus *bus, const uint64_t *edge_us) {
    pb_stream *stream = &device->stream;
    uint8_t bytes[PB_IMU_BURST_SAMPLES * PB_SAMPLE_BYTES];
    int16_t raw[PB_AXES];
    pb_fifo fifo;
    if (!pb_imu_status(bus, &fifo) || fifo.state == PB_FIFO_BROKEN) {
        recover(device, bus);
        return;
    }
    if (silent_for_long(device, fifo.n_samples == device->n_left, bus->now_us(bus->context))) {
        restart(device, bus);
        return;
    }
    device->fault = false;
    if (edge_us != NULL && fifo.n_samples >= pb_samples_at_once(stream->settings.rate_hz)) {
        pb_stream_edge(stream, *edge_us);
    }
    pb_stream_look(stream, fifo.n_samples, bus->now_us(bus->context));
    uint16_t n_due = pb_stream_due(stream, fifo.n_samples);
    device->n_left = (uint16_t)(fifo.n_samples - n_due);
    while (n_due > 0u) {
        const uint16_t n = n_due < PB_IMU_BURST_SAMPLES ? n_due : (uint16_t)PB_IMU_BURST_SAMPLES;
        if (!pb_imu_read(bus, bytes, n)) {
            recover(device, bus);
            return;
        }
        for (uint16_t i = 0; i < n; ++i) {
            pb_fifo_sample(bytes + i * PB_SAMPLE_BYTES, raw);
            pb_stream_sample(stream, raw);
        }
        n_due = (uint16_t)(n_due - n);
    }
}

void pb_device_poll(pb_device *device, const pb_bus *bus, const uint64_t *edge_us) {
    pb_stream *stream = &device->stream;
    const uint64_t now_us = bus->now_us(bus->context);
    pb_stream_tick(stream, now_us);
    const bool anew = stream->sampling && (!device->running || device->running_beginning != stream->beginning);
    if (device->running && !stream->sampling) {
        device->fault = !pb_imu_stop(bus);
        device->running = device->fault;
    } else if (anew && now_us >= device->retry_us) {
        device->running = pb_imu_start(bus, stream->settings);
        device->fault = !device->running;
        device->running_beginning = stream->beginning;
        device->retry_us = device->running ? 0u : now_us + RETRY_US;
        device->silent = false;
        device->n_left = 0;
        pb_stream_begun(stream, bus->now_us(bus->context));
    } else if (!anew && device->running) {
        drain(device, bus, edge_us);
    }
}

pb_led_show pb_device_show(const pb_device *device, uint8_t battery_pct) {
    pb_led_show show;
    show.fault = device->fault;
    show.connected = device->stream.connected;
    show.streaming = pb_stream_listened_to(&device->stream);
    show.battery_pct = battery_pct;
    show.identify_since_us = device->stream.identify_since_us;
    show.identify_until_us = device->stream.identify_until_us;
    return show;
}
