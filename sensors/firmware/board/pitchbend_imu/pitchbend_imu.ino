// Pitchbend's open sensor profile on a Seeed XIAO nRF52840 Sense. Not yet tried on hardware: see ../../README.md.
#include <pb_device.h>

#include "board_imu.h"
#include "board_pins.h"
#include "board_radio.h"
#include "board_time.h"

static constexpr uint32_t kWaitMs = 20;  // so long the light may be late
static constexpr uint64_t kIdlePollUs = 100000;
static constexpr uint64_t kBatteryUs = 30000000;

static pb_device device;
static pb_battery battery;
static uint8_t batteryPct;

static void lightBegin() {
  static const uint32_t pins[] = {LED_RED, LED_GREEN, LED_BLUE};
  for (uint32_t pin : pins) {
    pinMode(pin, OUTPUT);
    digitalWrite(pin, HIGH);  // they light when low
  }
}

static void light(uint8_t colours) {
  digitalWrite(LED_RED, (colours & PB_RED) != 0 ? LOW : HIGH);
  digitalWrite(LED_GREEN, (colours & PB_GREEN) != 0 ? LOW : HIGH);
  digitalWrite(LED_BLUE, (colours & PB_BLUE) != 0 ? LOW : HIGH);
}

static void batteryBegin() {
  pinMode(VBAT_ENABLE, OUTPUT);
  digitalWrite(VBAT_ENABLE, LOW);
  analogReference(AR_INTERNAL_2_4);
  analogReadResolution(kAdcBits);
  analogSampleTime(40);  // microseconds; the divider is a weak source
}

static uint16_t cellMv() {
  const uint32_t adc = static_cast<uint32_t>(analogRead(PIN_VBAT));
  const uint32_t pin_mv = adc * kReferenceMv >> kAdcBits;
  return static_cast<uint16_t>(pin_mv * (kDividerOhm / 1000) / (kLowerOhm / 1000));
}

static void measureBattery(uint64_t now_us) {
  static uint64_t due_us = 0;
  if (now_us < due_us) {
    return;
  }
  due_us = now_us + kBatteryUs;
  const uint8_t pct = pb_battery_measured(&battery, cellMv());
  if (pct != batteryPct) {
    batteryPct = pct;
    radioBattery(pct);
  }
}

// Gives whether the FIFO still stands above its threshold.
static bool pollDevice() {
  uint64_t edge_us = 0;
  const bool edge = imuEdge(&edge_us);
  deviceLock();
  pb_device_poll(&device, imuBus(), edge ? &edge_us : nullptr);
  const bool running = device.running;
  deviceUnlock();
  return !imuListen() && running;
}

void setup() {
  NRF_POWER->DCDCEN = 1;  // the processor's switching regulator; before the radio, which then owns the register
  lightBegin();
  batteryBegin();
  pb_device_init(&device);
  radioBegin(&device);  // starts the crystal that the clock runs on
  boardTimeBegin();
  imuBegin();
}

void loop() {
  static uint64_t polled_us = 0;
  static uint32_t beginning = 0;
  imuWait(kWaitMs);
  const uint64_t now_us = boardTimeUs();
  deviceLock();
  const bool anew = device.stream.beginning != beginning;
  beginning = device.stream.beginning;
  deviceUnlock();
  if (imuEdgeWaits() || anew || now_us - polled_us >= kIdlePollUs) {
    polled_us = now_us;
    for (uint8_t tries = 0; pollDevice() && tries < 3; ++tries) {  // a bus that fails leaves it standing
    }
  }
  while (radioSend()) {
  }
  measureBattery(now_us);
  deviceLock();
  const pb_led_show show = pb_device_show(&device, batteryPct);
  deviceUnlock();
  light(pb_led(show, now_us));
}
