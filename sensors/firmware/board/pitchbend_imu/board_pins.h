// Pins of the Seeed XIAO nRF52840 Sense beyond its variant.h.
#pragma once

#include <Arduino.h>

// Battery divider 1 MOhm over 510 kOhm; VBAT_ENABLE low connects it. Never drive that pin high: while the cell charges, the
// divider's end would then stand above what the analog pin bears.
constexpr uint32_t kDividerOhm = 1510000;
constexpr uint32_t kLowerOhm = 510000;
constexpr uint32_t kReferenceMv = 2400;  // AR_INTERNAL_2_4
constexpr int kAdcBits = 12;
