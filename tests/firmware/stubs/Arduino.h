/* What the board layer uses of the Arduino core for nRF52 boards, declared so that it can be parsed without it.
   Written from reading that core's public headers (Adafruit nRF52 Arduino core, LGPL 2.1 and others; variant
   Seeed_XIAO_nRF52840_Sense) and from memory of FreeRTOS. Shortened: it proves that names and types fit, no more. */
#pragma once

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#define HIGH 1
#define LOW 0
#define INPUT 0
#define OUTPUT 1
#define OUTPUT_S0H1 0x7
#define RISING 3

#define LED_RED (11)
#define LED_BLUE (12)
#define LED_GREEN (13)
#define VBAT_ENABLE (14)
#define PIN_VBAT (32)
#define PIN_LSM6DS3TR_C_POWER (15)
#define PIN_LSM6DS3TR_C_INT1 (18)

typedef enum { AR_INTERNAL_3_0, AR_INTERNAL_2_4 } eAnalogReference;

void pinMode(uint32_t pin, uint32_t mode);
void digitalWrite(uint32_t pin, uint32_t value);
int digitalRead(uint32_t pin);
void analogReference(eAnalogReference mode);
void analogReadResolution(int bits);
void analogSampleTime(uint8_t us);
uint32_t analogRead(uint32_t pin);
int attachInterrupt(uint32_t pin, void (*callback)(void), uint32_t mode);
void delay(uint32_t ms);

typedef struct {
  volatile uint32_t TASKS_START, TASKS_CLEAR, COUNTER, PRESCALER;
} NRF_RTC_Type;
extern NRF_RTC_Type *const NRF_RTC2;

typedef struct {
  volatile uint32_t DCDCEN;
} NRF_POWER_Type;
extern NRF_POWER_Type *const NRF_POWER;

/* FreeRTOS */
typedef long BaseType_t;
typedef uint32_t TickType_t;
typedef struct tskTaskControlBlock *TaskHandle_t;
typedef struct QueueDefinition *SemaphoreHandle_t;
#define pdFALSE ((BaseType_t)0)
#define pdTRUE ((BaseType_t)1)
#define portMAX_DELAY ((TickType_t)0xffffffffUL)
#define pdMS_TO_TICKS(ms) ((TickType_t)(((uint64_t)(ms)*1024u) / 1000u))
#define portYIELD_FROM_ISR(woken) ((void)(woken))
void taskENTER_CRITICAL(void);
void taskEXIT_CRITICAL(void);
TaskHandle_t xTaskGetCurrentTaskHandle(void);
uint32_t ulTaskNotifyTake(BaseType_t clear, TickType_t most);
BaseType_t xTaskNotifyGive(TaskHandle_t task);
void vTaskNotifyGiveFromISR(TaskHandle_t task, BaseType_t *woken);
SemaphoreHandle_t xSemaphoreCreateMutex(void);
BaseType_t xSemaphoreTake(SemaphoreHandle_t semaphore, TickType_t most);
BaseType_t xSemaphoreGive(SemaphoreHandle_t semaphore);
