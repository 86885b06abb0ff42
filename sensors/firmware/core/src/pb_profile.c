#include "pb_profile.h"

#define UUID(member)                                                                                     \
    {0x60, 0x2a, 0x5c, 0xb9, 0xe7, 0xd3, 0x52, 0x8a, 0x0e, 0x4f, 0xc7, 0x94, (member), 0x00, 0x1d, 0x6b}

const uint8_t pb_service_uuid[16] = UUID(0x01);
const uint8_t pb_data_uuid[16] = UUID(0x02);
const uint8_t pb_control_uuid[16] = UUID(0x03);
