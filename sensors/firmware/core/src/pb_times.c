#include "pb_times.h"

/* Edges; 3 s of them. Ten seconds without an edge then cost less than half a spacing. */
#define MEMORY 64
/* With so many the spacing is known well enough to outlive a silence or a new beginning, and counts for that many. */
#define WELL_KNOWN 32
/* How long after its moment a sample may take to show in the FIFO's status: a guess, on the safe side. */
#define SHOWS_AFTER_NS 500000
/* The part's rate may be off its name by less than this share; the reader believes 25 %. */
#define OFF_NOMINAL_PERCENT 20

void pb_times_begin(pb_times *times, uint64_t now_us, uint16_t rate_hz) {
    const int64_t nominal_ns = INT64_C(1000000000) / rate_hz;
    times->knows_spacing =
        nominal_ns == times->nominal_ns && (times->n_edges >= WELL_KNOWN || (times->n_edges == 0 && times->knows_spacing));
    if (!times->knows_spacing) {
        times->spacing_ns = nominal_ns;
    }
    times->nominal_ns = nominal_ns;
    times->ref_ns = (int64_t)now_us * 1000 + times->spacing_ns;
    times->ref_index = 0;
    times->n_edges = 0;
}

int64_t pb_times_ns(const pb_times *times, int64_t index) {
    return times->ref_ns + (index - times->ref_index) * times->spacing_ns;
}

int64_t pb_times_index(const pb_times *times, uint64_t now_us) {
    const int64_t since_ns = (int64_t)now_us * 1000 - times->ref_ns;
    int64_t n = since_ns / times->spacing_ns;
    if (since_ns < 0 && n * times->spacing_ns != since_ns) {
        --n; /* division rounds toward zero */
    }
    return times->ref_index + n;
}

int64_t pb_times_nearest(const pb_times *times, uint64_t at_us) {
    return pb_times_index(times, at_us + (uint64_t)(times->spacing_ns / 2000));
}

void pb_times_anchor(pb_times *times, int64_t index, uint64_t at_us) {
    times->ref_ns = (int64_t)at_us * 1000;
    times->ref_index = index;
}

void pb_times_edge(pb_times *times, int64_t index, uint64_t at_us) {
    const int64_t at_ns = (int64_t)at_us * 1000;
    const int64_t predicted_ns = pb_times_ns(times, index);
    const int64_t error_ns = at_ns - predicted_ns;
    const int64_t n_since = index - times->ref_index;
    const int64_t k = times->n_edges;
    if (k == 0) {
        pb_times_anchor(times, index, at_us);
        times->n_edges = times->knows_spacing ? WELL_KNOWN : 1;
        return;
    }
    if (n_since <= 0 || (k > 2 && (2 * error_ns > times->spacing_ns || 2 * error_ns < -times->spacing_ns))) {
        pb_times_anchor(times, index, at_us); /* the line is not to be believed: time goes before count */
        times->n_edges = 1;
        return;
    }
    times->ref_ns = predicted_ns + error_ns * 2 * (2 * k + 1) / ((k + 1) * (k + 2));
    times->ref_index = index;
    times->spacing_ns += error_ns * 6 / ((k + 1) * (k + 2)) / n_since;
    const int64_t most_ns = times->nominal_ns * (100 + OFF_NOMINAL_PERCENT) / 100;
    const int64_t least_ns = times->nominal_ns * (100 - OFF_NOMINAL_PERCENT) / 100;
    if (times->spacing_ns > most_ns) {
        times->spacing_ns = most_ns;
    } else if (times->spacing_ns < least_ns) {
        times->spacing_ns = least_ns;
    }
    if (k < MEMORY) {
        times->n_edges = (uint8_t)(k + 1);
    }
}

void pb_times_look(pb_times *times, int64_t newest, uint64_t now_us) {
    const int64_t now_ns = (int64_t)now_us * 1000;
    const int64_t newest_ns = pb_times_ns(times, newest);
    const int64_t next_ns = newest_ns + times->spacing_ns;
    if (newest_ns > now_ns) {
        times->ref_ns -= newest_ns - now_ns;
    } else if (next_ns + SHOWS_AFTER_NS < now_ns) {
        times->ref_ns += now_ns - SHOWS_AFTER_NS - next_ns;
    }
}
