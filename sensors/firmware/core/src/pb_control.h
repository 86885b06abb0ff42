/* Writes to the control characteristic: bytes to a command, or a reason to refuse them. */
#ifndef PB_CONTROL_H
#define PB_CONTROL_H

#include <stddef.h>
#include <stdint.h>

#include "pb_settings.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ATT errors of this profile; 0x80 to 0x9f are an application's own (Bluetooth Core, vol. 3 part F 3.4.1.1). */
#define PB_ATT_OK 0x00u
#define PB_ATT_UNKNOWN_COMMAND 0x80u
#define PB_ATT_WRONG_LENGTH 0x81u
#define PB_ATT_UNSUPPORTED_VALUE 0x82u

typedef enum { PB_STOP, PB_START, PB_IDENTIFY, PB_SET } pb_command_kind;

typedef struct {
    pb_command_kind kind;
    pb_settings settings; /* what shall be in force after it */
} pb_command;

/* Gives PB_ATT_OK and fills `command`, or an ATT error and leaves it as it was. */
uint8_t pb_control_parse(const uint8_t *bytes, size_t length, pb_settings in_force, pb_command *command);

#ifdef __cplusplus
}
#endif
#endif
