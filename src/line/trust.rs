//! Whom we believe over TLS: the machine's own authorities and, if the settings name one, the farm's.
//!
//! One provider (ring), named here and not installed for the whole process, so that no other crate's
//! choice matters. Certificates are always checked; there is no way to turn that off.

use std::path::Path;
use std::sync::Arc;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::WebPkiClientVerifier;
use rustls::{ClientConfig, RootCertStore, ServerConfig};

use super::secret;
use crate::config::built_in::Secure;

/// What a client needs to begin TLS. `ca` is a PEM file of authorities to trust besides the machine's.
pub fn client(ca: Option<&Path>) -> Result<Arc<ClientConfig>, String> {
    client_as(ca, None)
}

/// The same for a server that wants to know us, by a certificate and its key (PEM files).
pub fn client_as(
    ca: Option<&Path>,
    identity: Option<(&Path, &Path)>,
) -> Result<Arc<ClientConfig>, String> {
    let mut roots = RootCertStore::empty();
    let (_taken, _unreadable) =
        roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    if let Some(path) = ca {
        add(&mut roots, path)?;
    }
    if roots.is_empty() {
        return Err(
            "this machine knows no certificate authority: install the package ca-certificates, \
             or name the farm's own with ca"
                .to_owned(),
        );
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let asked = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|e| format!("TLS cannot be used: {e}"))?
        .with_root_certificates(roots);
    let Some((certificate, key)) = identity else {
        return Ok(Arc::new(asked.with_no_client_auth()));
    };
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|why| {
        format!("the key file {} cannot be used: {why}; it must be PEM", key.display())
    })?;
    let config =
        asked.with_client_auth_cert(certificates(certificate)?, secret).map_err(|why| {
            let (certificate, key) = (certificate.display(), key.display());
            format!(
                "the certificate {certificate} and the key {key} cannot be used together: {why}"
            )
        })?;
    Ok(Arc::new(config))
}

/// What our own broker needs to answer TLS: 1.2 and 1.3 only, and with `client_ca` for those alone who
/// have a certificate of that authority. Files are named relative to `base`; the key may be a credential.
pub fn server(
    secure: &Secure,
    base: &Path,
    credentials: Option<&Path>,
) -> Result<Arc<ServerConfig>, String> {
    let chain = certificates(&base.join(&secure.certificate))?;
    let key = secret::read(base, credentials, &secure.key_file)?;
    let key = PrivateKeyDer::from_pem_slice(key.expose().as_bytes()).map_err(|e| {
        format!("the key in {} cannot be used: {e}; it must be PEM", secure.key_file)
    })?;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider.clone())
        .with_safe_default_protocol_versions()
        .map_err(|e| format!("TLS cannot be used: {e}"))?;
    let config = match &secure.client_ca {
        None => config.with_no_client_auth(),
        Some(ca) => {
            let mut roots = RootCertStore::empty();
            add(&mut roots, &base.join(ca))?;
            let verifier = WebPkiClientVerifier::builder_with_provider(Arc::new(roots), provider)
                .build()
                .map_err(|e| format!("client-ca {ca} cannot be used: {e}"))?;
            config.with_client_cert_verifier(verifier)
        }
    };
    let config = config.with_single_cert(chain, key).map_err(|e| {
        format!("{} and {} do not go together: {e}", secure.certificate, secure.key_file)
    })?;
    Ok(Arc::new(config))
}

fn add(roots: &mut RootCertStore, path: &Path) -> Result<(), String> {
    for certificate in certificates(path)? {
        roots.add(certificate).map_err(|e| wrong(path, &e.to_string()))?;
    }
    Ok(())
}

fn certificates(path: &Path) -> Result<Vec<CertificateDer<'static>>, String> {
    let found = CertificateDer::pem_file_iter(path).and_then(Iterator::collect);
    let found: Vec<CertificateDer<'static>> = found.map_err(|why| wrong(path, &why.to_string()))?;
    if found.is_empty() {
        return Err(wrong(path, "it holds no certificate"));
    }
    Ok(found)
}

fn wrong(path: &Path, why: &str) -> String {
    format!("the certificate file {} cannot be used: {why}; it must be PEM", path.display())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_without_a_certificate_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("farm-ca.pem");
        std::fs::write(&path, "not a certificate").unwrap();
        let why = client(Some(&path)).unwrap_err();
        assert_eq!(
            why,
            format!(
                "the certificate file {} cannot be used: it holds no certificate; it must be PEM",
                path.display()
            )
        );
    }
}
