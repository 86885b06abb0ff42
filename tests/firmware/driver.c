/* The core as a process, for tests: one command a line on stdin, one answer a line on stdout.

   While the core is polled it may ask for the IMU's registers and the time; each question is a line that begins with '?',
   and the next line of stdin answers it. Whatever is malformed here is the test's fault and ends the process. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pb_device.h"

#define LINE 4096

static pb_device device;
static char line[LINE];

static void next_line(void) {
    if (fgets(line, LINE, stdin) == NULL) {
        exit(0);
    }
    line[strcspn(line, "\n")] = '\0';
}

static void fail(const char *what) {
    fprintf(stderr, "driver: %s: %s\n", what, line);
    exit(3);
}

static size_t hex(const char *text, uint8_t *into, size_t room) {
    size_t n = 0;
    unsigned value;
    for (; text[0] != '\0' && text[0] != ' '; text += 2) {
        if (n == room || sscanf(text, "%2x", &value) != 1) {
            fail("hex");
        }
        into[n++] = (uint8_t)value;
    }
    return n;
}

static void ask(void) {
    fflush(stdout);
    next_line();
}

static bool read_registers(void *context, uint8_t reg, uint8_t *into, uint16_t n) {
    (void)context;
    printf("?r %u %u\n", reg, n);
    ask();
    if (line[0] == '-') {
        return false;
    }
    if (hex(line, into, n) != n) {
        fail("short answer");
    }
    return true;
}

static bool write_register(void *context, uint8_t reg, uint8_t value) {
    (void)context;
    printf("?w %u %u\n", reg, value);
    ask();
    return line[0] != '-';
}

static uint64_t now_us(void *context) {
    (void)context;
    printf("?t\n");
    ask();
    return strtoull(line, NULL, 10);
}

static void control(const char *rest, uint64_t at_us) {
    const size_t room = strlen(rest) / 2u + 1u;
    uint8_t *bytes = malloc(room); /* of the very size, so that a sanitizer sees a read past the end */
    if (bytes == NULL) {
        fail("memory");
    }
    uint8_t *exact = realloc(bytes, hex(rest, bytes, room) > 0u ? strlen(rest) / 2u : 1u);
    printf("%u\n", pb_stream_control(&device.stream, exact, strlen(rest) / 2u, at_us));
    free(exact);
}

static void state(void) {
    const pb_stream *s = &device.stream;
    uint8_t told[PB_STATUS_BYTES];
    pb_settings_tell(s->settings, told);
    printf("{\"told\": \"");
    for (unsigned i = 0; i < PB_STATUS_BYTES; ++i) {
        printf("%02x", told[i]);
    }
    printf("\", \"connected\": %d, \"notifying\": %d, \"started\": %d, \"sampling\": %d, \"running\": %d, \"fault\": %d, ",
           s->connected, s->notifying, s->started, s->sampling, device.running, device.fault);
    printf("\"beginning\": %u, \"queued\": %u, \"overflowed\": %u, \"unheard\": %u, \"breaks\": %u, ", s->beginning,
           s->n_queued, s->n_overflowed, s->n_unheard, s->n_breaks);
    printf("\"identify_until_us\": %" PRIu64 ", \"spacing_ns\": %" PRId64 "}\n", s->identify_until_us, s->times.spacing_ns);
}

static void take(void) {
    const pb_packet *packet = pb_stream_waiting(&device.stream);
    if (packet == NULL) {
        printf("none\n");
        return;
    }
    for (unsigned i = 0; i < packet->n_bytes; ++i) {
        printf("%02x", packet->bytes[i]);
    }
    printf("\n");
    pb_stream_sent(&device.stream, packet->sequence);
}

int main(void) {
    static pb_clock clock;
    static pb_battery battery;
    char name[16];
    uint64_t a, b;
    pb_device_init(&device);
    for (;;) {
        fflush(stdout);
        next_line();
        int used = 0;
        if (sscanf(line, "%15s%n", name, &used) != 1) {
            fail("no command");
        }
        const char *rest = line + used + (line[used] == ' ');
        a = b = 0;
        const int n = sscanf(rest, "%" SCNu64 " %" SCNu64, &a, &b);
        if (strcmp(name, "init") == 0) {
            pb_device_init(&device);
            memset(&clock, 0, sizeof(clock));
            memset(&battery, 0, sizeof(battery));
        } else if (strcmp(name, "poll") == 0) {
            pb_device_poll(&device, &(pb_bus){NULL, read_registers, write_register, now_us}, n == 1 ? &a : NULL);
            printf("%d %u\n", device.running, device.stream.beginning);
            continue;
        } else if (strcmp(name, "control") == 0) { /* control AT_US HEX */
            const char *bytes = strchr(rest, ' ');
            control(bytes == NULL ? "" : bytes + 1, a);
            continue;
        } else if (strcmp(name, "connected") == 0) {
            pb_stream_connected(&device.stream, a);
        } else if (strcmp(name, "disconnected") == 0) {
            pb_stream_disconnected(&device.stream, a);
        } else if (strcmp(name, "notify") == 0) { /* notify AT_US ON */
            pb_stream_notify(&device.stream, b != 0u, a);
        } else if (strcmp(name, "mtu") == 0) { /* mtu AT_US MTU */
            pb_stream_mtu(&device.stream, (uint16_t)b, a);
        } else if (strcmp(name, "wrap") == 0) { /* wrap FIRST_PACKET CLOCK_US: as if it had streamed for long already */
            device.stream.first_packet = (uint32_t)a;
            device.stream.origin_us -= b;
        } else if (strcmp(name, "state") == 0) {
            state();
            continue;
        } else if (strcmp(name, "take") == 0) {
            take();
            continue;
        } else if (strcmp(name, "fifo") == 0) {
            uint8_t status[4] = {0};
            hex(rest, status, sizeof(status));
            const pb_fifo fifo = pb_fifo_of(status);
            printf("%d %u\n", fifo.state == PB_FIFO_BROKEN, fifo.n_samples);
            continue;
        } else if (strcmp(name, "gyr") == 0) {
            printf("%d\n", pb_gyr_count((int16_t)atoi(rest)));
            continue;
        } else if (strcmp(name, "clock") == 0) {
            printf("%" PRIu64 "\n", pb_clock_us(&clock, (uint32_t)a));
            continue;
        } else if (strcmp(name, "clock_at") == 0) {
            printf("%" PRIu64 "\n", pb_clock_at_us(&clock, (uint32_t)a));
            continue;
        } else if (strcmp(name, "cell") == 0) {
            printf("%u %u\n", pb_battery_pct_of((uint16_t)a), pb_battery_measured(&battery, (uint16_t)a));
            continue;
        } else if (strcmp(name, "led") == 0) { /* led AT_US BATTERY_PCT */
            printf("%u\n", pb_led(pb_device_show(&device, (uint8_t)b), a));
            continue;
        } else {
            fail("unknown command");
        }
        printf("ok\n");
    }
}
