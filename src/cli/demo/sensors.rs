//! The invented tail sensors, speaking to the real broker through a real client.

use std::time::Duration;

use rumqttc::v5::mqttbytes::QoS;
use rumqttc::v5::{AsyncClient, MqttOptions};
use serde_json::json;

use super::Stage;
use super::script::{Script, What};
use crate::plain::moment::Span;

const DEVICES: [&str; 3] = ["t-07", "t-12", "t-15"];
const BEAT: Span = Span::minutes(5);

pub(super) async fn speak(stage: Stage, script: Script, port: u16) {
    let mut options = MqttOptions::new("demo-sensors", "127.0.0.1", port);
    options.set_keep_alive(Duration::from_secs(30));
    let (client, mut connection) = AsyncClient::new(options, 256);
    tokio::task::spawn_local(async move {
        loop {
            if connection.poll().await.is_err() {
                tokio::time::sleep(Duration::from_millis(200)).await;
            }
        }
    });
    for deed in script.deeds.clone() {
        let (client, stage) = (client.clone(), stage.clone());
        tokio::task::spawn_local(async move {
            stage.until(deed.at).await;
            let (topic, body) = match deed.what {
                What::Efforts(n) => {
                    let body = json!({ "efforts": n, "t": deed.at.seconds() }).to_string();
                    (format!("yard/tail/{}/state", deed.who), body)
                }
                What::Says(words) => {
                    say!("{:>28}  {} says: {words}", "", deed.who);
                    (format!("lowbell/answer/{}", deed.who), words)
                }
                What::FallsSilent | What::SpeaksAgain | What::Mails(_) => return,
            };
            // The broker keeps what it has taken; what it has not is lost with the demo.
            let _ = client.publish(topic, QoS::AtLeastOnce, false, body).await;
        });
    }
    let mut beat = stage.now();
    loop {
        for device in DEVICES {
            if !script.silences(device, beat) {
                let body = json!({ "efforts": 0, "t": beat.seconds() }).to_string();
                let topic = format!("yard/tail/{device}/state");
                let _ = client.publish(topic, QoS::AtLeastOnce, false, body).await;
            }
        }
        beat += BEAT;
        stage.until(beat).await;
    }
}
