#include "board_radio.h"

#include <bluefruit.h>
#include <string.h>

#include "board_imu.h"
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

static void onConnected(uint16_t handle, BLEConnection *link) {
  deviceLock();
  pb_stream_connected(&device->stream, boardTimeUs());
  deviceUnlock();
  connection = handle;
  link->requestPHY(BLE_GAP_PHY_2MBPS);
  link->requestDataLengthUpdate();
  link->requestMtuExchange(PB_ATT_MTU);
  // The interval is asked for by the library, if the central's own lies outside what radioBegin set.
}

static void onDisconnected() {
  connection = BLE_CONN_HANDLE_INVALID;
  deviceLock();
  pb_stream_disconnected(&device->stream, boardTimeUs());
  deviceUnlock();
}

static void onMtu(uint16_t mtu) {
  static uint16_t told = 0;
  mtu = mtu < PB_ATT_MTU ? mtu : PB_ATT_MTU;  // the library has the other side's, which may be more than ours
  if (mtu == told) {
    return;
  }
  told = mtu;
  deviceLock();
  pb_stream_mtu(&device->stream, mtu, boardTimeUs());
  deviceUnlock();
}

// Every event of the radio, in its own task, in order, and after the library has dealt with it. The library's callbacks for
// connections come in another task and later: a write over the next connection may have been dealt with before them.
// Only here is a BLEConnection sure to live: the library deletes it in this task, whoever uses it in another.
static void onEvent(ble_evt_t *event) {
  const uint16_t handle = event->evt.common_evt.conn_handle;
  BLEConnection *link = Bluefruit.Connection(handle);
  if (event->header.evt_id == BLE_GAP_EVT_DISCONNECTED) {
    onDisconnected();
    onMtu(PB_LEAST_ATT_MTU);
  } else if (link != nullptr) {
    if (event->header.evt_id == BLE_GAP_EVT_CONNECTED) {
      onConnected(handle, link);
    }
    onMtu(link->getMtu());
  }
  if (event->header.evt_id == BLE_GATTS_EVT_HVN_TX_COMPLETE) {
    imuWake();  // there is room in the radio's queue again
  }
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
  Bluefruit.setEventCallback(onEvent);
  services();
  advertise();
}

// Not by the library's notify: that waits for room on a semaphore of the connection, and when the connection is lost while it
// waits, the library deletes the semaphore under it. It would also cut what is longer than the ATT_MTU in two.
static bool notifyNow(uint16_t handle, const pb_packet &packet) {
  uint16_t length = packet.n_bytes;
  ble_gatts_hvx_params_t what;
  memset(&what, 0, sizeof(what));
  what.handle = data.handles().value_handle;
  what.type = BLE_GATT_HVX_NOTIFICATION;
  what.p_len = &length;
  what.p_data = packet.bytes;
  return sd_ble_gatts_hvx(handle, &what) == NRF_SUCCESS;
}

bool radioSend() {
  pb_packet packet;
  uint16_t mtu = 0;
  deviceLock();
  const pb_packet *waiting = pb_stream_waiting(&device->stream);
  if (waiting != nullptr) {
    packet = *waiting;
    mtu = device->stream.mtu;
  }
  deviceUnlock();
  // One that was made for a larger ATT_MTU waits for the stream to begin anew, never for the stack to shorten it.
  if (waiting == nullptr || mtu < packet.n_bytes + PB_NOTIFICATION_BYTES || !notifyNow(connection, packet)) {
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
