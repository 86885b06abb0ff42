#include "pb_control.h"

static uint16_t u16(const uint8_t *bytes) { return (uint16_t)(bytes[0] | ((unsigned)bytes[1] << 8)); }

uint8_t pb_control_parse(const uint8_t *bytes, size_t length, pb_settings in_force, pb_command *command) {
    static const uint8_t lengths[] = {1, 1, 1, 3, 3, 2};
    static const pb_command_kind kinds[] = {PB_STOP, PB_START, PB_IDENTIFY, PB_SET, PB_SET, PB_SET};
    if (length == 0u) {
        return PB_ATT_WRONG_LENGTH;
    }
    if (bytes[0] >= sizeof(lengths)) {
        return PB_ATT_UNKNOWN_COMMAND;
    }
    if (length != lengths[bytes[0]]) {
        return PB_ATT_WRONG_LENGTH;
    }
    pb_settings settings = in_force;
    bool offered = true;
    if (bytes[0] == 3u) {
        offered = pb_settings_set_rate(&settings, u16(bytes + 1));
    } else if (bytes[0] == 4u) {
        offered = pb_settings_set_gyr_range(&settings, u16(bytes + 1));
    } else if (bytes[0] == 5u) {
        offered = pb_settings_set_acc_range(&settings, bytes[1]);
    }
    if (!offered) {
        return PB_ATT_UNSUPPORTED_VALUE;
    }
    command->kind = kinds[bytes[0]];
    command->settings = settings;
    return PB_ATT_OK;
}
