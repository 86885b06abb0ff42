/* The stream: who listens, which samples make which packet, what waits to be sent.

   Samples stand on a grid: counted from the moment sampling began, each run of n is one packet whether it can be sent or
   not, so that the sequence number tells what is missing whatever the reason (nobody listened, the queue was full, the
   FIFO ran over). Sampling goes on for a minute after a link is lost or stopped: the reader then sees a counted gap and
   keeps its clock. After that, or when rate, range or the samples in a packet change, it begins anew: sequence and clock
   are zero.

   A beginning that the reader may not have seen from its start is given up instead: the reader, who knows the one before,
   could take its later packets for a continuation. */
#ifndef PB_STREAM_H
#define PB_STREAM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "pb_packet.h"
#include "pb_settings.h"
#include "pb_times.h"

#ifdef __cplusplus
extern "C" {
#endif

#define PB_QUEUE_PACKETS 48u /* more than a full FIFO at 208 Hz makes; 2.3 s */
#define PB_HOLD_US UINT64_C(60000000)
#define PB_IDENTIFY_US UINT64_C(3000000)

typedef struct {
    pb_settings settings;
    bool connected, notifying, started;
    uint16_t mtu; /* of the connection */
    bool sampling;       /* the IMU shall run */
    uint32_t beginning;  /* counts up whenever it shall begin anew */
    bool awaited;        /* and has not yet: samples that still come are of the sampling before */
    uint8_t n_per_packet; /* samples, since the beginning */
    uint64_t deaf_since_us;
    uint64_t identify_since_us, identify_until_us;

    /* Since the beginning. */
    uint64_t origin_us; /* where the device clock is zero */
    uint32_t first_packet;
    int64_t next_index; /* of the next sample out of the FIFO, unless `miscounted` */
    bool unsettled;     /* the next sample counted is the first of a restarted IMU */
    bool miscounted;    /* the FIFO was emptied unread: the next sample's time tells its index */
    int64_t grid_index; /* where the first packet begins */
    int64_t settled_index; /* samples before this are of a gyroscope that is still coming up */
    pb_times times;

    uint8_t n_open; /* samples in `open` */
    int16_t open[PB_MAX_SAMPLES * PB_AXES];

    uint8_t n_queued, oldest;
    pb_packet queue[PB_QUEUE_PACKETS];

    uint32_t n_sent;   /* of this beginning, given to the radio */
    uint8_t n_settles; /* which of the settling times this beginning has */

    /* For whoever debugs a board. */
    uint32_t n_overflowed; /* packets: queue full */
    uint32_t n_unheard;    /* packets: nobody listened */
    uint32_t n_breaks;     /* FIFO ran over or was out of step, or the bus failed */
} pb_stream;

void pb_stream_init(pb_stream *stream);

/* From the radio. */
/* A radio library may tell of a connection after what was written over it: that is kept. */
void pb_stream_connected(pb_stream *stream, uint64_t now_us);
void pb_stream_disconnected(pb_stream *stream, uint64_t now_us);
void pb_stream_notify(pb_stream *stream, bool on, uint64_t now_us);
/* A connection begins with PB_LEAST_ATT_MTU; say so whenever that changes. */
void pb_stream_mtu(pb_stream *stream, uint16_t mtu, uint64_t now_us);
/* Gives the ATT answer; anything but PB_ATT_OK has changed nothing. */
uint8_t pb_stream_control(pb_stream *stream, const uint8_t *bytes, size_t length, uint64_t now_us);

/* Connected, notifications on, and started. */
bool pb_stream_listened_to(const pb_stream *stream);

/* Let time pass: sampling nobody listened to for a minute ends. */
void pb_stream_tick(pb_stream *stream, uint64_t now_us);

/* From the IMU. */
void pb_stream_begun(pb_stream *stream, uint64_t now_us);
void pb_stream_edge(pb_stream *stream, uint64_t at_us);
void pb_stream_look(pb_stream *stream, uint16_t n_waiting, uint64_t now_us);
/* How many of those that wait to read now: in runs of as many as the threshold. The rest stays in the FIFO, so that it next
   rises to its threshold at the very end of a packet, which then waits for nothing. */
uint16_t pb_stream_due(const pb_stream *stream, uint16_t n_waiting);
void pb_stream_sample(pb_stream *stream, const int16_t raw[PB_AXES]);
/* The FIFO was emptied unread; `restarted`: and the IMU's sampling began anew. */
void pb_stream_broken(pb_stream *stream, bool restarted);

/* To the radio: the oldest packet that waits, or NULL; `sent` takes it off unless it is gone already. */
const pb_packet *pb_stream_waiting(const pb_stream *stream);
void pb_stream_sent(pb_stream *stream, uint16_t sequence);

#ifdef __cplusplus
}
#endif
#endif
