// The IMU's bus and its interrupt.
#pragma once

#include <pb_bus.h>
#include <stdint.h>

void imuBegin();
const pb_bus *imuBus();
// Wait for the threshold's interrupt or for `imuWake`, at most so long.
void imuWait(uint32_t most_ms);
// From any other task.
void imuWake();
// Whether the interrupt came since `imuListen`.
bool imuEdgeWaits();
// When the interrupt came since the last `imuListen`; false when it did not.
bool imuEdge(uint64_t *at_us);
// Listen for the next interrupt. False when the FIFO stands above its threshold already: poll again.
bool imuListen();
