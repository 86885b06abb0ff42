#include "board_imu.h"

#include <Arduino.h>
#include <Wire.h>
#include <pb_imu.h>

#include "board_time.h"

static TaskHandle_t loopTask = nullptr;
static volatile bool armed = false;
static volatile bool edgeSeen = false;
static volatile uint32_t edgeTicks = 0;

static bool readRegisters(void *, uint8_t reg, uint8_t *into, uint16_t n) {
  Wire1.beginTransmission(PB_IMU_I2C_ADDRESS);
  Wire1.write(reg);
  if (Wire1.endTransmission(false) != 0 || Wire1.requestFrom(PB_IMU_I2C_ADDRESS, static_cast<size_t>(n)) != n) {
    return false;
  }
  for (uint16_t i = 0; i < n; ++i) {
    into[i] = static_cast<uint8_t>(Wire1.read());
  }
  return true;
}

static bool writeRegister(void *, uint8_t reg, uint8_t value) {
  Wire1.beginTransmission(PB_IMU_I2C_ADDRESS);
  Wire1.write(reg);
  Wire1.write(value);
  return Wire1.endTransmission() == 0;
}

static uint64_t nowUs(void *) { return boardTimeUs(); }

static void onThreshold() {
  if (armed) {
    edgeTicks = boardTicks();
    edgeSeen = true;
    armed = false;
  }
  BaseType_t woken = pdFALSE;
  vTaskNotifyGiveFromISR(loopTask, &woken);
  portYIELD_FROM_ISR(woken);
}

void imuBegin() {
  loopTask = xTaskGetCurrentTaskHandle();
  pinMode(PIN_LSM6DS3TR_C_POWER, OUTPUT_S0H1);  // it feeds the part
  digitalWrite(PIN_LSM6DS3TR_C_POWER, HIGH);
  delay(35);  // it boots
  Wire1.begin();
  Wire1.setClock(400000);
  pinMode(PIN_LSM6DS3TR_C_INT1, INPUT);
  attachInterrupt(PIN_LSM6DS3TR_C_INT1, onThreshold, RISING);
}

const pb_bus *imuBus() {
  static const pb_bus bus = {nullptr, readRegisters, writeRegister, nowUs};
  return &bus;
}

void imuWait(uint32_t most_ms) { ulTaskNotifyTake(pdTRUE, pdMS_TO_TICKS(most_ms)); }

void imuWake() {
  if (loopTask != nullptr) {
    xTaskNotifyGive(loopTask);
  }
}

bool imuEdgeWaits() { return edgeSeen; }

bool imuEdge(uint64_t *at_us) {
  armed = false;
  if (!edgeSeen) {
    return false;
  }
  edgeSeen = false;
  *at_us = boardTimeAtUs(edgeTicks);
  return true;
}

bool imuListen() {
  edgeSeen = false;
  armed = true;  // before the look at the line, or a rise between the two would be missed
  if (digitalRead(PIN_LSM6DS3TR_C_INT1) == LOW || edgeSeen) {
    return true;
  }
  armed = false;
  return edgeSeen;
}
