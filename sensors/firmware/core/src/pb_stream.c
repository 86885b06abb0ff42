#include "pb_stream.h"

#include <string.h>

#include "pb_control.h"
#include "pb_imu.h"

/* The gyroscope needs up to 80 ms to come up (data sheet, from memory). */
#define SETTLE_US 100000
/* A reader takes a packet up to 8 behind the newest for a late one if its clock agrees. A beginning soon after another has
   the same first sequence numbers, so it must not have the same clock values with them: it settles longer. */
#define SETTLE_STEP_US 500000
#define N_SETTLES 4u
#define SOON_PACKETS 16u
/* The radio may hold this many when a link is lost. */
#define MAYBE_UNHEARD_PACKETS 8u

static uint8_t at_once(const pb_stream *stream) { return pb_samples_at_once(stream->settings.rate_hz); }

/* How many samples a packet should have now. */
static uint8_t fitting(const pb_stream *stream) { return pb_samples_per_packet(stream->settings.rate_hz, stream->mtu); }

void pb_stream_init(pb_stream *stream) {
    memset(stream, 0, sizeof(*stream));
    stream->settings = pb_usual_settings();
    stream->mtu = PB_LEAST_ATT_MTU;
    stream->n_per_packet = fitting(stream);
}

bool pb_stream_listened_to(const pb_stream *stream) {
    return stream->connected && stream->notifying && stream->started;
}

static void begin_anew(pb_stream *stream) {
    if (stream->n_sent >= SOON_PACKETS) {
        stream->n_settles = 0;
    } else if (stream->n_sent > 0u) {
        stream->n_settles = (uint8_t)((stream->n_settles + 1u) % N_SETTLES);
    }
    stream->n_sent = 0;
    stream->sampling = true;
    stream->n_per_packet = fitting(stream);
    stream->awaited = true;
    ++stream->beginning;
    stream->n_open = 0;
    stream->n_queued = 0;
}

static void end(pb_stream *stream) {
    stream->sampling = false;
    stream->n_open = 0;
    stream->n_queued = 0;
}

/* After anything that listening depends on. */
static void listening_changed(pb_stream *stream, bool before, uint64_t now_us) {
    const bool now = pb_stream_listened_to(stream);
    if (now && (!stream->sampling || stream->n_per_packet != fitting(stream))) {
        begin_anew(stream);
    }
    if (before && !now) {
        stream->deaf_since_us = now_us;
        stream->n_queued = 0;
        if (stream->n_sent < MAYBE_UNHEARD_PACKETS) {
            end(stream);
        }
    }
}

void pb_stream_connected(pb_stream *stream, uint64_t now_us) {
    const bool before = pb_stream_listened_to(stream);
    stream->connected = true;
    listening_changed(stream, before, now_us);
}

void pb_stream_disconnected(pb_stream *stream, uint64_t now_us) {
    const bool before = pb_stream_listened_to(stream);
    stream->connected = false;
    stream->notifying = false;
    stream->started = false;
    stream->mtu = PB_LEAST_ATT_MTU;
    listening_changed(stream, before, now_us);
    if (!pb_settings_equal(stream->settings, pb_usual_settings())) {
        /* Who comes next may not know of other scales. */
        stream->settings = pb_usual_settings();
        end(stream);
    }
}

void pb_stream_notify(pb_stream *stream, bool on, uint64_t now_us) {
    const bool before = pb_stream_listened_to(stream);
    stream->notifying = on;
    listening_changed(stream, before, now_us);
}

void pb_stream_mtu(pb_stream *stream, uint16_t mtu, uint64_t now_us) {
    stream->mtu = mtu < PB_LEAST_ATT_MTU ? PB_LEAST_ATT_MTU : mtu;
    listening_changed(stream, pb_stream_listened_to(stream), now_us);
}

uint8_t pb_stream_control(pb_stream *stream, const uint8_t *bytes, size_t length, uint64_t now_us) {
    pb_command command;
    const uint8_t answer = pb_control_parse(bytes, length, stream->settings, &command);
    if (answer != PB_ATT_OK) {
        return answer;
    }
    const bool before = pb_stream_listened_to(stream);
    switch (command.kind) {
    case PB_STOP:
        stream->started = false;
        break;
    case PB_START:
        stream->started = true;
        break;
    case PB_IDENTIFY:
        stream->identify_since_us = now_us;
        stream->identify_until_us = now_us + PB_IDENTIFY_US;
        break;
    case PB_SET:
        if (!pb_settings_equal(command.settings, stream->settings)) {
            stream->settings = command.settings;
            if (pb_stream_listened_to(stream)) {
                begin_anew(stream);
            } else {
                end(stream);
            }
        }
        break;
    }
    listening_changed(stream, before, now_us);
    return PB_ATT_OK;
}

void pb_stream_tick(pb_stream *stream, uint64_t now_us) {
    if (stream->sampling && !pb_stream_listened_to(stream) && now_us - stream->deaf_since_us >= PB_HOLD_US) {
        end(stream);
    }
}

static int64_t samples_in(const pb_stream *stream, int64_t us) {
    return (us * stream->settings.rate_hz + 999999) / 1000000;
}

void pb_stream_begun(pb_stream *stream, uint64_t now_us) {
    stream->origin_us = now_us;
    stream->awaited = false;
    stream->first_packet = 0;
    stream->next_index = 0;
    stream->n_queued = 0; /* what the sampling before made meanwhile */
    stream->miscounted = false;
    stream->unsettled = false;
    stream->n_open = 0;
    const int64_t n = at_once(stream);
    const int64_t n_settling = samples_in(stream, SETTLE_US + stream->n_settles * SETTLE_STEP_US);
    stream->grid_index = (n_settling + n - 1) / n * n; /* whole runs, so that the first edge ends one */
    stream->settled_index = stream->grid_index;
    pb_times_begin(&stream->times, now_us, stream->settings.rate_hz);
}

/* The count never steps back, or a packet would bear a number that was used. */
static void recount(pb_stream *stream, int64_t next_index) {
    if (next_index > stream->next_index) {
        stream->next_index = next_index;
    }
    stream->miscounted = false;
    if (stream->unsettled) {
        stream->settled_index = stream->next_index + samples_in(stream, SETTLE_US);
        stream->unsettled = false;
    }
}

void pb_stream_edge(pb_stream *stream, uint64_t at_us) {
    const int64_t n_before = at_once(stream) - 1;
    const bool restarted = stream->times.n_edges == 0u;
    if (!stream->miscounted) {
        const int64_t n_since = stream->next_index + n_before - stream->times.ref_index;
        if (!restarted && 2 * n_since <= n_before) {
            return; /* so soon after the last one it says more of what makes interrupts late than of the rate */
        }
        pb_times_edge(&stream->times, stream->next_index + n_before, at_us);
        return;
    }
    recount(stream, pb_times_nearest(&stream->times, at_us) - n_before);
    if (restarted) {
        pb_times_edge(&stream->times, stream->next_index + n_before, at_us);
    } else {
        pb_times_anchor(&stream->times, stream->next_index + n_before, at_us);
    }
}

void pb_stream_look(pb_stream *stream, uint16_t n_waiting, uint64_t now_us) {
    if (n_waiting == 0u) {
        return;
    }
    if (stream->miscounted) {
        recount(stream, pb_times_index(&stream->times, now_us) - n_waiting + 1);
    }
    pb_times_look(&stream->times, stream->next_index + n_waiting - 1, now_us);
}

/* Where in its run of n a sample stands. */
static uint8_t slot_of(const pb_stream *stream, int64_t index, int64_t n) {
    return (uint8_t)(((index - stream->grid_index) % n + n) % n);
}

uint16_t pb_stream_due(const pb_stream *stream, uint16_t n_waiting) {
    const unsigned n = at_once(stream);
    const unsigned slot = slot_of(stream, stream->next_index, n);
    const unsigned n_end = (slot + n_waiting) / n * n;
    return (uint16_t)(n_end > slot ? n_end - slot : 0u);
}

static uint32_t clock_us_of(const pb_stream *stream, int64_t index) {
    const int64_t since_ns = pb_times_ns(&stream->times, index) - (int64_t)stream->origin_us * 1000;
    const int64_t us = since_ns / 1000 - (int64_t)pb_imu_delay_us(stream->settings.rate_hz);
    return (uint32_t)((uint64_t)us & 0xffffffffu);
}

static void close_packet(pb_stream *stream, int64_t last_index) {
    const int64_t n = stream->n_per_packet;
    const uint32_t number = (uint32_t)((last_index - stream->grid_index) / n) + stream->first_packet;
    stream->n_open = 0;
    if (!pb_stream_listened_to(stream)) {
        ++stream->n_unheard;
        return;
    }
    if (stream->n_queued == PB_QUEUE_PACKETS && stream->n_sent == 0u) {
        begin_anew(stream);
        return;
    }
    if (stream->n_queued == PB_QUEUE_PACKETS) { /* the newest are the ones that feedback needs */
        stream->oldest = (uint8_t)((stream->oldest + 1u) % PB_QUEUE_PACKETS);
        --stream->n_queued;
        ++stream->n_overflowed;
    }
    pb_packet *packet = &stream->queue[(stream->oldest + stream->n_queued) % PB_QUEUE_PACKETS];
    pb_packet_pack(packet, (uint16_t)(number & 0xffffu), clock_us_of(stream, last_index), stream->open, (uint8_t)n);
    ++stream->n_queued;
}

void pb_stream_sample(pb_stream *stream, const int16_t raw[PB_AXES]) {
    const int64_t index = stream->next_index++;
    if (index < stream->settled_index || stream->awaited) {
        return;
    }
    const uint8_t n = stream->n_per_packet;
    const uint8_t slot = slot_of(stream, index, n);
    if (slot != stream->n_open) { /* samples of this packet were lost: the rest of it is not sent either */
        stream->n_open = 0;
        if (slot != 0u) {
            return;
        }
    }
    int16_t *counts = stream->open + (size_t)slot * PB_AXES;
    for (unsigned axis = 0; axis < 3u; ++axis) {
        counts[axis] = pb_gyr_count(raw[axis]);
        counts[axis + 3u] = raw[axis + 3u];
    }
    if (++stream->n_open == n) {
        close_packet(stream, index);
    }
}

void pb_stream_broken(pb_stream *stream, bool restarted) {
    ++stream->n_breaks;
    stream->n_open = 0;
    stream->miscounted = true;
    if (restarted) {
        stream->unsettled = true;
        stream->times.n_edges = 0;
    }
}

const pb_packet *pb_stream_waiting(const pb_stream *stream) {
    return stream->n_queued == 0u ? NULL : &stream->queue[stream->oldest];
}

void pb_stream_sent(pb_stream *stream, uint16_t sequence) {
    if (stream->n_queued > 0u && stream->queue[stream->oldest].sequence == sequence) {
        stream->oldest = (uint8_t)((stream->oldest + 1u) % PB_QUEUE_PACKETS);
        --stream->n_queued;
        ++stream->n_sent;
    }
}
