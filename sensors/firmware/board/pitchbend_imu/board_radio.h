// Bluetooth Low Energy: services, advertising, and the device behind them.
#pragma once

#include <pb_device.h>

// `device` is touched only between these two, by whichever task.
void deviceLock();
void deviceUnlock();

void radioBegin(pb_device *device);
// Give the oldest waiting packet to the radio. False when none waits or the radio's queue is full: `imuWait` ends when it has
// room again.
bool radioSend();
void radioBattery(uint8_t pct);
