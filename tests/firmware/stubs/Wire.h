/* See Arduino.h beside this file: declared for parsing, after the nRF52 core's Wire library. */
#pragma once

#include <stddef.h>
#include <stdint.h>

class TwoWire {
 public:
  void begin(void);
  void setClock(uint32_t hz);
  void beginTransmission(uint8_t address);
  uint8_t endTransmission(void);
  uint8_t endTransmission(bool stop);
  uint8_t requestFrom(uint8_t address, size_t quantity);
  size_t write(uint8_t value);
  int read(void);
};

extern TwoWire Wire1;
