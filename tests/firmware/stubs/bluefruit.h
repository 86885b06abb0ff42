/* See Arduino.h beside this file: declared for parsing, after the headers of the Bluefruit library in the nRF52 core (BSD)
   and of Nordic's S140 SoftDevice (Nordic's own licence). */
#pragma once

#include <Arduino.h>

#define BLE_CONN_HANDLE_INVALID 0xFFFF
#define BLE_GATT_HVX_NOTIFICATION 0x01
#define NRF_SUCCESS 0
#define BLE_GAP_EVT_CONNECTED 0x10
#define BLE_GAP_EVT_DISCONNECTED 0x11
#define BLE_GATTS_EVT_HVN_TX_COMPLETE 0x57
#define BLE_GATT_STATUS_SUCCESS 0x0000
#define BLE_GATT_STATUS_ATTERR_APP_BEGIN 0x0180
#define BLE_GAP_PHY_2MBPS 0x02
#define BLE_GAP_ADV_FLAGS_LE_ONLY_GENERAL_DISC_MODE 0x06
#define BLE_GATTS_AUTHORIZE_TYPE_READ 0x01
#define BLE_GATTS_AUTHORIZE_TYPE_WRITE 0x02

typedef struct {
  uint16_t handle;
  uint16_t offset;
} ble_gatts_evt_read_t;

typedef struct {
  uint16_t handle;
  uint8_t op;
  uint16_t offset;
  uint16_t len;
  uint8_t data[1];
} ble_gatts_evt_write_t;

typedef struct {
  uint16_t gatt_status;
  uint8_t update : 1;
  uint16_t offset;
  uint16_t len;
  uint8_t const *p_data;
} ble_gatts_authorize_params_t;

typedef struct {
  uint8_t type;
  union {
    ble_gatts_authorize_params_t read;
    ble_gatts_authorize_params_t write;
  } params;
} ble_gatts_rw_authorize_reply_params_t;

typedef struct {
  uint16_t handle;
  uint8_t type;
  uint16_t offset;
  uint16_t *p_len;
  uint8_t const *p_data;
} ble_gatts_hvx_params_t;

typedef struct {
  uint16_t value_handle, user_desc_handle, cccd_handle, sccd_handle;
} ble_gatts_char_handles_t;

/* Of the events only what all have in common. */
typedef struct {
  struct {
    uint16_t evt_id, evt_len;
  } header;
  struct {
    struct {
      uint16_t conn_handle;
    } common_evt;
  } evt;
} ble_evt_t;

uint32_t sd_ble_gatts_hvx(uint16_t handle, ble_gatts_hvx_params_t const *params);
uint32_t sd_ble_gatts_rw_authorize_reply(uint16_t handle, ble_gatts_rw_authorize_reply_params_t const *reply);

enum CharsProperties { CHR_PROPS_READ = 2, CHR_PROPS_WRITE = 8, CHR_PROPS_NOTIFY = 16 };
typedef enum { SECMODE_NO_ACCESS = 0x00, SECMODE_OPEN = 0x11 } SecureMode_t;
enum { BANDWIDTH_AUTO = 0, BANDWIDTH_LOW, BANDWIDTH_NORMAL, BANDWIDTH_HIGH, BANDWIDTH_MAX };

class BLEUuid {
 public:
  BLEUuid(uint8_t const uuid128[16]);
};

class BLEService {
 public:
  BLEService(BLEUuid uuid);
  int32_t begin(void);
};

class BLECharacteristic {
 public:
  typedef void (*read_authorize_cb_t)(uint16_t conn_hdl, BLECharacteristic *chr, ble_gatts_evt_read_t *request);
  typedef void (*write_authorize_cb_t)(uint16_t conn_hdl, BLECharacteristic *chr, ble_gatts_evt_write_t *request);
  typedef void (*write_cccd_cb_t)(uint16_t conn_hdl, BLECharacteristic *chr, uint16_t value);
  BLECharacteristic(BLEUuid uuid);
  void setProperties(uint8_t properties);
  void setPermission(SecureMode_t read, SecureMode_t write);
  void setMaxLen(uint16_t length);
  void setCccdWriteCallback(write_cccd_cb_t callback, bool useAdaCallback = true);
  void setReadAuthorizeCallback(read_authorize_cb_t callback, bool useAdaCallback = true);
  void setWriteAuthorizeCallback(write_authorize_cb_t callback, bool useAdaCallback = true);
  int32_t begin(void);
  ble_gatts_char_handles_t handles(void);
};

class BLEDis {
 public:
  void setManufacturer(const char *text);
  void setModel(const char *text);
  void setFirmwareRev(const char *text);
  int32_t begin(void);
};

class BLEBas {
 public:
  int32_t begin(void);
  bool write(uint8_t level);
  bool notify(uint8_t level);
};

class BLEConnection {
 public:
  uint16_t getMtu(void);
  bool requestPHY(uint8_t phy);
  bool requestDataLengthUpdate(void const *params = nullptr, void *limitation = nullptr);
  bool requestMtuExchange(uint16_t mtu);
};

class BLEAdvertisingData {
 public:
  bool addFlags(uint8_t flags);
  bool addName(void);
  bool addService(BLEService &service);
};

class BLEAdvertising : public BLEAdvertisingData {
 public:
  void setInterval(uint16_t fast, uint16_t slow);
  void setFastTimeout(uint16_t seconds);
  void restartOnDisconnect(bool enable);
  bool start(uint16_t timeout = 0);
};

class BLEPeriph {
 public:
  bool setConnInterval(uint16_t min, uint16_t max);
  bool setConnSupervisionTimeout(uint16_t timeout);
};

class AdafruitBluefruit {
 public:
  BLEAdvertising Advertising;
  BLEAdvertisingData ScanResponse;
  BLEPeriph Periph;
  void configPrphBandwidth(uint8_t bandwidth);
  void autoConnLed(bool enabled);
  bool begin(uint8_t prph_count = 1, uint8_t central_count = 0);
  void setName(const char *name);
  bool setTxPower(int8_t power);
  uint8_t getAddr(uint8_t mac[6]);
  BLEConnection *Connection(uint16_t conn_hdl);
  void setEventCallback(void (*callback)(ble_evt_t *event));
};

extern AdafruitBluefruit Bluefruit;
