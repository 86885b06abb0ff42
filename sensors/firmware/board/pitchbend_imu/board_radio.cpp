#include "board_radio.h"

#include <bluefruit.h>
#include <string.h>

#include "board_time.h"

static constexpr char kManufacturer[] = "Pitchbend";
static constexpr char kModel[] = "XIAO nRF52840 Sense";
static constexpr char kFirmware[] = "1.0.0";

static pb_device *device;
static SemaphoreHandle_t mutex;

static BLEService service(pb_service_uuid);
static BLECharacteristic data(pb_data_uuid);
static BLECharacteristic control(pb_control_uuid);
static BLEDis identity;
static BLEBas battery;
static volatile uint16_t connection = BLE_CONN_HANDLE_INVALID;

void deviceLock() { xSemaphoreTake(mutex, portMAX_DELAY); }
void deviceUnlock() { xSemaphoreGive(mutex); }

static void onConnect(uint16_t handle) {
  deviceLock();
  pb_stream_connected(&device->stream, boardTimeUs());
  deviceUnlock();
  connection = handle;
  BLEConnection *link = Bluefruit.Connection(handle);
  link->requestPHY(BLE_GAP_PHY_2MBPS);
  link->requestDataLengthUpdate();
  link->requestMtuExchange(PB_ATT_MTU);
  // The interval is asked for by the library, if the central's own lies outside what radioBegin set.
}

static void onDisconnect(uint16_t, uint8_t) {
  connection = BLE_CONN_HANDLE_INVALID;
  deviceLock();
  pb_stream_disconnected(&device->stream, boardTimeUs());
  deviceUnlock();
}

static void onSubscribe(uint16_t, BLECharacteristic *, uint16_t value) {
  deviceLock();
  pb_stream_notify(&device->stream, (value & BLE_GATT_HVX_NOTIFICATION) != 0, boardTimeUs());
  deviceUnlock();
}

static void onControlWrite(uint16_t handle, BLECharacteristic *, ble_gatts_evt_write_t *request) {
  deviceLock();
  const uint8_t answer = pb_stream_control(&device->stream, request->data, request->len, boardTimeUs());
  deviceUnlock();
  ble_gatts_rw_authorize_reply_params_t reply;
  memset(&reply, 0, sizeof(reply));
  reply.type = BLE_GATTS_AUTHORIZE_TYPE_WRITE;
  // An application's ATT errors begin at 0x80, and have codes of their own in the stack.
  reply.params.write.gatt_status = answer == PB_ATT_OK
                                       ? static_cast<uint16_t>(BLE_GATT_STATUS_SUCCESS)
                                       : static_cast<uint16_t>(BLE_GATT_STATUS_ATTERR_APP_BEGIN + (answer - 0x80));
  reply.params.write.update = answer == PB_ATT_OK ? 1 : 0;
  reply.params.write.len = request->len;
  reply.params.write.p_data = request->data;
  sd_ble_gatts_rw_authorize_reply(handle, &reply);
}

static void onControlRead(uint16_t handle, BLECharacteristic *, ble_gatts_evt_read_t *) {
  uint8_t told[PB_STATUS_BYTES];
  deviceLock();
  pb_settings_tell(device->stream.settings, told);
  deviceUnlock();
  ble_gatts_rw_authorize_reply_params_t reply;
  memset(&reply, 0, sizeof(reply));
  reply.type = BLE_GATTS_AUTHORIZE_TYPE_READ;
  reply.params.read.gatt_status = BLE_GATT_STATUS_SUCCESS;
  reply.params.read.update = 1;
  reply.params.read.len = sizeof(told);
  reply.params.read.p_data = told;
  sd_ble_gatts_rw_authorize_reply(handle, &reply);
}

static void services() {
  identity.setManufacturer(kManufacturer);
  identity.setModel(kModel);
  identity.setFirmwareRev(kFirmware);
  identity.begin();
  battery.begin();

  service.begin();
  data.setProperties(CHR_PROPS_NOTIFY);
  data.setPermission(SECMODE_OPEN, SECMODE_NO_ACCESS);
  data.setMaxLen(PB_MAX_PACKET_BYTES);
  data.setCccdWriteCallback(onSubscribe, false);
  data.begin();
  control.setProperties(CHR_PROPS_READ | CHR_PROPS_WRITE);
  control.setPermission(SECMODE_OPEN, SECMODE_OPEN);
  control.setMaxLen(20);
  // In the radio's own task (false): deferred, the library would copy the request without its data.
  control.setWriteAuthorizeCallback(onControlWrite, false);
  control.setReadAuthorizeCallback(onControlRead, false);
  control.begin();
}

static void advertise() {
  // Flags 3 bytes, 128-bit service 18: the name goes into the scan response.
  Bluefruit.Advertising.addFlags(BLE_GAP_ADV_FLAGS_LE_ONLY_GENERAL_DISC_MODE);
  Bluefruit.Advertising.addService(service);
  Bluefruit.ScanResponse.addName();
  Bluefruit.Advertising.restartOnDisconnect(true);
  Bluefruit.Advertising.setInterval(160, 320);  // units of 0.625 ms: 100 ms, after half a minute 200 ms
  Bluefruit.Advertising.setFastTimeout(30);
  Bluefruit.Advertising.start(0);
}

static void setName() {
  uint8_t address[6];
  Bluefruit.getAddr(address);
  char name[16];
  snprintf(name, sizeof(name), "Bend %02X%02X", address[1], address[0]);
  Bluefruit.setName(name);
}

void radioBegin(pb_device *the_device) {
  device = the_device;
  mutex = xSemaphoreCreateMutex();
  Bluefruit.configPrphBandwidth(BANDWIDTH_MAX);  // ATT_MTU 247, long packets
  Bluefruit.autoConnLed(false);
  Bluefruit.begin();
  setName();
  Bluefruit.setTxPower(4);
  Bluefruit.Periph.setConnInterval(PB_INTERVAL_MIN_1_25_MS, PB_INTERVAL_MAX_1_25_MS);
  Bluefruit.Periph.setConnSupervisionTimeout(PB_SUPERVISION_10_MS);
  Bluefruit.Periph.setConnectCallback(onConnect);
  Bluefruit.Periph.setDisconnectCallback(onDisconnect);
  services();
  advertise();
}

bool radioSend() {
  pb_packet packet;
  deviceLock();
  const pb_packet *waiting = pb_stream_waiting(&device->stream);
  if (waiting != nullptr) {
    packet = *waiting;
  }
  deviceUnlock();
  BLEConnection *link = Bluefruit.Connection(connection);
  // With a smaller ATT_MTU the library would cut the packet in two, and neither half is one.
  if (waiting == nullptr || link == nullptr || link->getMtu() < packet.n_bytes + 3u ||
      !data.notify(connection, packet.bytes, packet.n_bytes)) {
    return false;
  }
  deviceLock();
  pb_stream_sent(&device->stream, packet.sequence);
  deviceUnlock();
  return true;
}

void radioBattery(uint8_t pct) {
  battery.write(pct);
  battery.notify(pct);
}
