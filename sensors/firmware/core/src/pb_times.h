/* When each sample was taken, on the board's clock, from moments at which the FIFO was seen.

   Two kinds of moment: the interrupt at the FIFO's threshold belongs to one sample exactly, and a line is kept through
   these (an expanding-memory g-h filter that stops expanding after 64: least squares at first, slowly forgetting later).
   A look at the FIFO only bounds: its newest sample is not of the future, and the next one was not there yet. With looks
   alone a time is off by up to one spacing; with interrupts by what the interrupt is late. */
#ifndef PB_TIMES_H
#define PB_TIMES_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct {
    int64_t nominal_ns;
    int64_t spacing_ns;
    int64_t ref_ns; /* time of sample `ref_index` */
    int64_t ref_index;
    uint8_t n_edges; /* that the line goes through, up to 64 */
    bool knows_spacing; /* from before this beginning */
} pb_times;

/* Begin: sample 0 is expected one spacing after `now_us`. A spacing that was well known at the same rate is kept.
   `times` is all zero before the first time. */
void pb_times_begin(pb_times *times, uint64_t now_us, uint16_t rate_hz);

/* Sample `index` was put into the FIFO at `at_us`. */
void pb_times_edge(pb_times *times, int64_t index, uint64_t at_us);

/* The same after a silence: the moment is taken as it is, the spacing kept. */
void pb_times_anchor(pb_times *times, int64_t index, uint64_t at_us);

/* At `now_us` sample `newest` was in the FIFO, and the next was not. */
void pb_times_look(pb_times *times, int64_t newest, uint64_t now_us);

int64_t pb_times_ns(const pb_times *times, int64_t index);

/* The last sample that was taken by `now_us`; the one taken nearest to `at_us`. */
int64_t pb_times_index(const pb_times *times, uint64_t now_us);
int64_t pb_times_nearest(const pb_times *times, uint64_t at_us);

#ifdef __cplusplus
}
#endif
#endif
